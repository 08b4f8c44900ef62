//! The record, the laboratory's and the logger's files, against the plan.

/// Adds these codes to those gathered before, and hands on.
macro_rules! record {
    ([$($rest:ident)*] $($before:tt)*) => {
        gather! { [$($rest)*] $($before)*
        // A1xx. The record against the plan.
        Missing "A101" Major
            "A reading or step is missing"
            "What wasn't written down can't be used, and can't be shown to have been done.";
        Unplanned "A102" Minor
            "A row is not in the plan"
            "Something was done that nobody asked for; it may have changed what came after.";
        OutOfWindow "A103" Major
            "A value is outside its window"
            "The condition under which the result holds was not kept.";
        OutOfOrder "A104" Major
            "Steps were done in another order"
            "What a step finds depends on what was done before it.";
        WrongUnit "A105" Major
            "A value is in another unit than planned"
            "A number in another unit is wrong even when it looks right.";
        WrongInstrument "A106" Major
            "A value was read with another instrument"
            "Its range, resolution and calibration are not those that were checked.";
        NotANumber "A107" Major
            "A cell is not a number"
            "What can't be read can't be used.";
        WrongFingerprint "A108" Critical
            "The record belongs to another plan"
            "The form was printed from another version; windows and steps may differ.";
        DwellTooShort "A109" Major
            "A wait was cut short"
            "What had to settle or to disperse may not have.";
        StoppedEarly "A110" Major
            "A run ended before its condition was met"
            "The result would be a lower bound that looks like a value.";
        PastTerminal "A111" Minor
            "A run went past its terminal condition"
            "The last batches belong to no result.";
        DoseOutOfWindow "A112" Major
            "A dose is outside its window"
            "The dust in the account and the dust in the loop differ.";
        BeyondLimit "A113" Critical
            "A limit was passed"
            "The limit was written to protect people or the rig, and the run should have stopped.";
        SetAsideWithoutReason "A114" Major
            "A value was set aside without a reason"
            "A value that disappears without a reason may have been the right one.";
        RepeatedRow "A115" Major
            "A row stands twice"
            "It isn't clear which of the two values counts.";
        UnknownRun "A116" Major
            "A run is not in the plan"
            "Its values can't be given to any specimen.";
        WrongSpecimen "A117" Critical
            "A run has another specimen than planned"
            "The values would be reported for a filter that wasn't on the bench.";
        NoTime "A118" Minor
            "A row has no time"
            "Order and waits can't be checked.";
        NoInitials "A119" Minor
            "A row has no initials"
            "Nobody can be asked about it.";
        BadTime "A120" Minor
            "A time can't be read"
            "Order and waits can't be checked.";
        UnknownColumn "A121" Minor
            "A column is not known"
            "What stands in it is not looked at.";
        MissingColumn "A122" Major
            "A column is missing"
            "What should stand in it is missing for every row.";
        CannotRead "A123" Critical
            "A record can't be read"
            "What can't be read can't be audited.";
        FinerThanInstrument "A124" Minor
            "A value has more digits than its instrument shows"
            "Digits that the instrument doesn't show were made up, or another instrument was used.";
        AfterTerminal "A125" Minor
            "Steps were recorded after the terminal condition"
            "They belong to no result.";
        CalibrationExpired "A126" Major
            "An instrument was out of calibration"
            "Its readings can't be defended.";
        UnitChanged "A127" Major
            "The unit changed within a series"
            "One of the values was read or written in the wrong unit.";
        ShiftedRow "A128" Major
            "A row has more or fewer cells than the heading"
            "Every value after the place where it broke stands under the wrong heading.";
        BadDeclaration "A129" Major
            "A record declares something unknown about itself"
            "Read with another separator or decimal mark, 12,7 becomes 12 and 7.";
        FormulaCell "A130" Minor
            "A cell holds a formula"
            "Its value changes when another cell does, so what was read at the bench can't be told from it.";
        NotYetRecorded "A131" Note
            "A run is not finished"
            "What is still to come is not missing.";
        ClockBackwards "A132" Critical
            "The clock runs backwards"
            "Until it is explained, no wait and no order of this run can be trusted.";
        DwellTooLong "A133" Minor
            "A wait took longer than allowed"
            "Oil that stands or circulates longer warms, settles and ages.";
        Impossible "A134" Critical
            "A value is impossible"
            "No bench can have shown it.";
        OutsideRecordedRange "A135" Major
            "A value is outside the range of its instrument"
            "The instrument stood at its stop, or another one was read.";
        DoesNotFit "A136" Major
            "A value does not fit the rest of the record"
            "Either something happened at the bench that is not noted, or the number was miswritten.";
        DoseSkipped "A137" Critical
            "A dose is not recorded"
            "The account of the dust is open: nobody knows what the filter was given.";
        DoseRepeated "A138" Critical
            "A dose is recorded twice"
            "Either the filter was given twice the dust, or the account counts it twice.";
        WrongBottle "A139" Critical
            "A bottle has another label than planned"
            "The laboratory's counts would be reported for another sample.";
        NotAChoice "A140" Major
            "An answer is none of those offered"
            "It can't be counted or compared.";
        Corrected "A141" Note
            "A value was corrected"
            "Both values are kept, with the reason.";
        OnTheFence "A142" Minor
            "A value is inside its window by less than its instrument's accuracy"
            "The true value may have been outside.";
        GaugeAtStop "A143" Critical
            "A gauge stood at the end of its scale"
            "What is beyond the end of a scale isn't shown, and a gauge that was pressed against its stop may read wrong afterwards.";
        TooSmallForGauge "A144" Minor
            "A value is hardly larger than its instrument's accuracy"
            "Half of it may be error.";
        FallsWithFlow "A145" Major
            "The differential pressure falls while the flow rises"
            "A filter doesn't do that: a by-pass opened, air went through, or a value was miswritten.";
        Knee "A146" Major
            "The differential pressure stops rising with the flow"
            "An open by-pass looks like this; the oil then no longer goes through the medium, and the restriction isn't the filter's.";
        LegsDisagree "A147" Major
            "Rising and falling flow give different differential pressures"
            "Something changed between the two: temperature, air, a by-pass that did not close, the zero.";
        CurveDoesNotFit "A148" Major
            "The readings lie on no curve of viscous and inertial restriction"
            "Restriction is a part that grows with the flow and a part that grows with its square; readings far from any such curve weren't taken under one condition.";
        ViscosityLeft "A149" Major
            "The oil left its viscosity at the recorded temperature"
            "Restriction follows the viscosity: a few per cent of it are a few per cent of the result.";
        ZeroMoved "A150" Major
            "The zero of a gauge moved during the run"
            "Every reading between the two zeros is off by an unknown part of it.";
        TareAboveReading "A151" Critical
            "The housing alone restricts more than housing and element"
            "What is left for the element would be below zero.";
        Outlier "A152" Minor
            "A value lies far from those of like specimens"
            "It is reported as it is; a value is never dropped because it is far off.";
        ReferenceShifted "A153" Major
            "The reference specimen reads differently than before"
            "What moved the reference moved the specimens between, too.";
        PressuresDisagree "A154" Major
            "The pressure before the specimen is lower than the drop across it"
            "One of the two gauges, or one of the two numbers, is wrong.";
        LeftInBoat "A155" Major
            "Much of a dose stayed in the boat"
            "The dust in the account and the dust in the loop differ.";
        StockExceeded "A156" Major
            "More dust was dosed than there was"
            "Either dust of another lot was used, or a mass is wrong.";
        DropsAfterDose "A157" Critical
            "The differential pressure dropped after a dose"
            "More dust never makes a filter easier to pass: a by-pass opened, a medium tore, or a seal lets oil by.";
        MeterBeyondViscosity "A158" Major
            "A flow meter was read outside the viscosities that it is calibrated for"
            "A meter's factor depends on the viscosity.";
        ValveContradicts "A159" Critical
            "A valve is noted in another position than planned"
            "The oil went another way than the result assumes.";
        ReliefLifted "A160" Critical
            "The relief valve was about to lift, or did"
            "Part of the flow then no longer went through the specimen, and the rig was at the edge of what it is built for.";
        TroubleNoted "A161" Major
            "A note tells of trouble"
            "Somebody saw it and wrote it down; whoever uses the value has to know.";
        RowsSwapped "A162" Major
            "Two values stand in each other's row"
            "Each is right, in the wrong place.";
        TwoRecords "A163" Critical
            "A run was recorded twice"
            "Nobody can tell from the files which of the two is the run, or why there is another.";
        RunBrokenOff "A164" Major
            "A run was broken off and the bench went on"
            "A run that disappears is a result that disappears.";
        FormAltered "A165" Critical
            "What the form had printed was changed"
            "The window, the step or the words that the bench worked by are no longer those of the plan.";
        PhotographMissing "A166" Major
            "A photograph is missing or has changed"
            "What it was to show can't be shown.";
        SealBroken "A167" Critical
            "A signed record was changed"
            "What was signed and what is there now differ.";
        TypedDifferently "A168" Major
            "Two people typed different things from one sheet"
            "One of the two is not what the sheet says.";
        AnswerDoesNotHold "A169" Major
            "An answer to a finding does not hold"
            "A departure is disclosed by an answer with a name, a date and a reason, or not at all.";

        // A170–A197. The laboratory's files.
        LayoutNotWritten "A170" Major
            "Nothing says how a laboratory's file is laid out"
            "A column taken for another gives numbers that look right and are wrong by a factor.";
        ColumnNotInFile "A171" Major
            "A laboratory's file has other columns than the plan says"
            "What is not read is not missed by anybody until the comparison is made.";
        LabValueUnclear "A172" Major
            "A cell of a laboratory's file can't be read as a count"
            "A count that is guessed from a mark or a sign may be wrong by a factor of a thousand.";
        LabelCheckWrong "A173" Critical
            "The check character of a label is wrong"
            "The label was miscopied: nobody knows for sure which bottle was counted.";
        LabelReused "A174" Critical
            "One label stands on two results"
            "Two bottles with one label can't be told apart any more.";
        BottleNotSent "A175" Major
            "A result belongs to no bottle that was drawn"
            "A count without a bottle may be another bottle's.";
        BottleWithoutResult "A176" Major
            "A bottle that was drawn has no result"
            "A pair with one bottle says nothing, and a lost bottle is often the inconvenient one.";
        CustodyBroken "A177" Major
            "A bottle's way to the laboratory is not closed"
            "What was in it on arrival may not be what was drawn.";
        HeldTooLong "A178" Minor
            "A bottle was counted long after it was drawn"
            "Particles settle, clump and stick to the wall; what is counted later is less and coarser.";
        CountsRise "A179" Critical
            "A count rises where the size grows"
            "What is at least as large as the larger size is also at least as large as the smaller: one of the two is wrong.";
        IntervalsAsSums "A180" Critical
            "Counts between sizes are read as counts from a size up"
            "Every count but the coarsest is too low, and the small sizes most.";
        OtherVolume "A181" Critical
            "Counts are read for another volume than they were given for"
            "A factor of a hundred is six to seven steps of a cleanliness code.";
        DilutionMissed "A182" Critical
            "A dilution is not multiplied back, or twice"
            "The bottle looks cleaner or dirtier than it is by the whole factor, and an efficiency with it.";
        CodeAgainstCounts "A183" Major
            "A cleanliness code does not belong to the counts beside it"
            "Code and counts come from one count; where they differ, one of them was copied, rounded or reckoned wrong.";
        FewCountsUnmarked "A184" Minor
            "Few particles were counted, and the code does not say so"
            "Below twenty particles chance alone moves the number by a step; the mark says so to whoever reads it.";
        BeyondCoincidence "A185" Major
            "More particles than the counter can tell apart"
            "Two particles in the beam are counted as one larger one: too few small, too many large.";
        BackgroundTooHigh "A186" Major
            "What was there before the dust hides what the filter let through"
            "A count behind the filter that is mostly background says nothing about the filter.";
        BottleBlankDirty "A187" Major
            "An empty bottle is dirtier than was promised"
            "Its particles are counted as the oil's, in every bottle of the batch.";
        TwinsDisagree "A188" Major
            "Two bottles of one moment disagree"
            "They should differ by chance and the laboratory's scatter only.";
        SizesOnOtherScale "A189" Major
            "Sizes are told by another calibration than planned"
            "Sizes of two calibrations that bear one number are two sizes; their counts can't be compared.";
        EfficiencyFalls "A190" Major
            "The filter seems to catch coarse particles worse than fine ones"
            "Air, water, an exchanged bottle or a shedding rig look so; a filter hardly ever does.";
        GhostParticles "A191" Major
            "Small particles without the large ones that dust would bring"
            "Droplets of additive, water or air are counted like dust.";
        CountsAgainstMass "A192" Minor
            "Counts and weighed dirt don't belong together"
            "One of the two was measured on another bottle, at another size, or with another factor.";
        ChallengeNotAsPlanned "A193" Major
            "The filter was met by more or less dust than was planned"
            "Dust that stayed in the pot, settled, or was mixed in too late never came to the filter.";
        Reissued "A194" Major
            "Two reports give different numbers for one bottle"
            "Which one is right, only the laboratory can say; both are kept.";
        OtherMethod "A195" Major
            "The laboratory counted in another way than was asked"
            "Another method, or less oil counted, gives other numbers with another scatter.";
        BottlesExchanged "A196" Critical
            "Two bottles seem to be exchanged"
            "Until it is settled, every ratio that uses one of them may be upside down.";
        SameCountsTwice "A197" Major
            "Two bottles have the same counts in many sizes"
            "Chance hardly ever does that; a row that was copied does.";

        // A200–A219. A logger's series beside plan and record.
        LoggerCannotRead "A200" Critical
            "A logger's file can't be read"
            "What the instruments showed between the readings stays unknown.";
        OutsideWhileHeld "A201" Major
            "What should be held was outside its window"
            "The reading may be right and the filter still have seen another flow or temperature in between.";
        DwellNotKept "A202" Major
            "A dwell was not kept inside the window"
            "The plan counts the time at the set value, not the time since the pump was touched.";
        StillDrifting "A203" Major
            "A reading was taken while it still drifted"
            "A value on its way is not the value at the set-point; the next bench would read another.";
        LimitPassedInSeries "A204" Critical
            "A limit that stops the run was passed"
            "The rig and the people beside it were outside what the plan allows, even if nobody saw the peak.";
        LogGap "A205" Major
            "The logger missed part of a stage"
            "Nothing can be said of the time that was not logged.";
        LoggedTooSlowly "A206" Minor
            "The logger was slower than planned"
            "A short excursion falls between two points.";
        NotLogged "A207" Major
            "What should be logged is not in the logger's file"
            "The plan relies on the series to show that the conditions were held.";
        LoggerClockBackwards "A208" Major
            "The logger's clock runs backwards"
            "Rows can't be put beside the record's times while the clock is in doubt.";
        StuckChannel "A209" Major
            "A channel stood still while its readings changed"
            "A frozen channel shows a calm that was not there.";
        ReadingDisagrees "A210" Major
            "A reading and the logger disagree"
            "One of the two is wrong: the value, its time, the unit, or the column.";
        LoggerRowsDamaged "A211" Minor
            "Rows of a logger's file can't be used"
            "They were left out; nothing was filled in.";
        LoggerWithoutMapping "A212" Major
            "Nobody has said which column is which instrument"
            "A guess would hold the plan against the wrong channel.";
        LoggerMarkUnknown "A213" Major
            "A marker of a logger's file names nothing in the plan"
            "Rows that belong to no step are held against nothing.";

        // A220. Signs of copying and invention: something to look at, never proof.
        LegCopied "A220" Major
            "The falling flows repeat the rising ones digit by digit"
            "Two readings of a noisy value agree now and then, not all of them. It is something to look at, never proof.";
        BlockCopied "A221" Critical
            "A row of values stands in two runs"
            "Two runs agree in a value now and then, not in a row of them. It is something to look at, never proof.";
        TooRegular "A222" Minor
            "Times written by hand follow each other to the second"
            "Work at a bench isn't that regular. It is something to look at, never proof.";
        LastDigits "A223" Minor
            "Some last digits are written far more often than others"
            "The last digit of a noisy value is any digit as often as any other. It is something to look at, never proof.";
        OnTarget "A224" Major
            "Nearly every set value is written exactly as planned"
            "An instrument that shows more than the set value shows more than it. It is something to look at, never proof.";
        StraightLine "A225" Major
            "Measured values lie on a straight line to the last digit"
            "Noise is never that even. It is something to look at, never proof.";
        PhotographReused "A226" Major
            "One photograph stands for two readings"
            "It can show only one of them.";
        TooAlike "A227" Minor
            "Repeats agree better than the instrument could show"
            "Five independent readings scatter over a step of their instrument. It is something to look at, never proof.";

        // A230. Time.
        OutsideCampaign "A230" Critical
            "A run lies outside the time of its campaign"
            "It can't have been done by a plan that wasn't there yet, nor be recorded before it was done.";
        RunsOverlap "A231" Critical
            "Two runs went on at the same time"
            "A rig carries one specimen at a time, and people stand in one place.";
        TooFast "A233" Major
            "The oil was heated faster than the heater can"
            "A time or a temperature is wrong, or the oil wasn't yet warm throughout.";
        WrittenTogether "A234" Minor
            "Several steps carry the same time"
            "They were written down together afterwards, from memory.";
        PairApart "A235" Major
            "The bottles of a pair were drawn too far apart"
            "They no longer show the same oil before and after the filter.";
        TooLateAfterDose "A236" Critical
            "A bottle was drawn when the dust was gone"
            "What is counted then is the background on both sides.";
        OrderNotFollowed "A237" Major
            "The runs were not done in the planned order"
            "What drifted during the campaign now falls on specimens as it likes.";
        SheetNotRead "A238" Major
            "A sheet of a workbook is not read"
            "Values on a sheet that nobody reads are values that nobody has.";

        // A240. The bench beside itself, from run to run.
        TareStrays "A240" Major
            "The tare of a run is not that of the others"
            "It is taken off every reading of the run: what it is off, the restriction of the element is off.";
        StageInAnotherUnit "A241" Major
            "All readings of a stage seem to be in another unit"
            "Readings that are all wrong by one factor agree with each other, and the worst filter looks like the best.";
        }
    };
}
pub(super) use record;
