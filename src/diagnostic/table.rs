//! The table of all codes: variant, identifier, severity, title in plain words, why it matters.
//!
//! An identifier is never used again for something else. Add a line at the end of its family.

use super::code::codes;

codes! {
    // L1xx. The writing: characters, words, statements, blocks.
    NotText "L101" Error
        "The file is not text"
        "A file that is not plain text in UTF-8 can't be read aloud, compared or kept for an auditor.";
    TooLarge "L102" Error
        "The file is too large"
        "A protocol is a few pages. A file this size is something else, a log or an export, under the wrong name.";
    UnclosedText "L103" Error
        "A quoted text has no closing quotation mark"
        "Without its end, everything after it on the line would be taken for text.";
    UnclosedBlock "L104" Error
        "A block is not closed"
        "Without the closing brace it isn't clear which steps belong to the block, and steps would run in the wrong place.";
    StrayClose "L105" Error
        "A closing brace closes nothing"
        "A brace too many ends a block early, and the steps after it would fall outside.";
    NestedTooDeep "L106" Error
        "Blocks are nested too deep"
        "Nobody can follow more than forty blocks inside each other at the bench.";
    StrayCharacter "L107" Error
        "A character has no meaning here"
        "What can't be read can't be carried out.";
    UnclosedList "L108" Error
        "A list is not closed"
        "Without the closing bracket it isn't clear which values belong to the list.";
    CommaNumber "L109" Error
        "A number is written with a comma"
        "A comma separates values. 1,250 is one thousand two hundred and fifty to one reader and one and a quarter to another.";
    BareDecimalPoint "L110" Error
        "A number begins or ends with its decimal point"
        "A point alone is easily overlooked on an oily sheet: .5 becomes 5.";
    UnknownStatement "L111" Error
        "A statement begins with an unknown word"
        "A step that isn't understood would be left out without anybody noticing.";
    StatementForm "L112" Error
        "A statement does not have its form"
        "The words are known but not their order, so the step could be taken in two ways.";
    NotAllowedHere "L113" Error
        "A statement belongs in another block"
        "Where a statement stands decides when it holds. Here it would never be looked at.";
    MissingBlock "L114" Error
        "A statement needs a block"
        "Without the block it isn't said what is to be done.";
    UnexpectedBlock "L115" Error
        "A statement takes no block"
        "The steps inside would never be carried out.";
    MissingStatement "L116" Error
        "A block lacks a statement that it needs"
        "What isn't written would be decided at the bench, differently each time.";
    RepeatedStatement "L117" Error
        "A statement stands twice where only one can hold"
        "Two values for the same thing leave it to the reader which one counts.";
    BadDate "L118" Error
        "A date is not a date"
        "A calibration or a run with a date that doesn't exist can't be traced.";

    // L2xx. Quantities: units, kinds, scales, tolerances.
    NoUnit "L201" Error
        "A number has no unit"
        "A number without its unit is read in the unit that the reader is used to.";
    UnknownUnit "L202" Error
        "A unit is not known"
        "A quantity in an unknown unit can't be converted, compared or set on an instrument.";
    WrongKind "L203" Error
        "A quantity is of the wrong kind"
        "A value of another kind can't be set here, whatever its number.";
    WhichGallon "L204" Error
        "A gallon, quart or pint does not say which"
        "An imperial gallon is a fifth larger than a US gallon: a flow set in the wrong one is 20 % off.";
    WhichPressure "L205" Error
        "A pressure does not say what it is measured against"
        "Gauge and absolute differ by one atmosphere, about 101 kPa, which is more than the rise of many a filter.";
    WrongPressureReference "L206" Error
        "A pressure is measured against the wrong reference"
        "A differential pressure is the difference of two ports; a gauge or absolute pressure is one port against the room or a vacuum.";
    WhichSize "L207" Error
        "A particle size does not say on which calibration"
        "5 µm on the old ACFTD scale is 6.4 µm(c): counts at one can't be compared with counts at the other.";
    PerWhatVolume "L208" Error
        "A particle count does not say per which volume"
        "Laboratories report per mL and per 100 mL; taking one for the other is a factor of a hundred, six to seven ISO 4406 codes.";
    PointAsDifference "L209" Error
        "A temperature is given where a difference is expected, or the other way round"
        "20 °F as a temperature is -7 °C, as a difference it is 11 °C.";
    PointsAdded "L210" Error
        "Two temperatures are added"
        "40 °C plus 5 °C is 45 °C only if the second is a difference.";
    KindsMixed "L211" Error
        "Quantities of different kinds are added or compared"
        "A sum of unlike kinds has no meaning at the bench.";
    NoTolerance "L212" Error
        "A controlled quantity has no tolerance"
        "Without a window nobody can say whether the set-point was held, neither at the bench nor in the audit.";
    WindowInsideOut "L213" Error
        "A window has its lower end above its upper end"
        "No reading could ever be inside.";
    OutsideRange "L214" Error
        "A parameter is outside its allowed range"
        "The method was written and checked for the range only.";
    DivideByZero "L215" Error
        "A quantity is divided by zero"
        "The result has no value that could be set.";
    NotWhole "L216" Error
        "A number is no count"
        "A count is whole, begins at 1, and is no larger than what a bench can do in its life.";
    NeedsDensity "L218" Error
        "A dynamic viscosity stands where a kinematic one is expected"
        "mPa·s and mm²/s differ by the density: for oil about 15 %, and it changes with temperature.";

    // L3xx. Names.
    UnknownName "L301" Error
        "A name is not known"
        "A step that names something undescribed can't be carried out as meant.";
    WrongSort "L302" Error
        "A name stands for another sort of thing"
        "A fluid can't measure and an instrument can't be pumped.";
    DuplicateName "L303" Error
        "Two things have the same name"
        "At the bench nobody could tell which of the two a step means.";
    LookAlikeNames "L304" Warning
        "Two names look almost alike"
        "Names that differ by one character are mixed up on a worksheet.";
    UseCycle "L305" Error
        "Files use each other in a circle"
        "Neither could be read before the other.";
    UseNotFound "L306" Error
        "A file that is used can't be found"
        "What the file describes is missing from the protocol.";
    UnusedName "L307" Note
        "A name is never used"
        "Either it is left over or a step names something else by mistake.";
    UnknownParameter "L308" Error
        "A parameter is not known"
        "A value bound to a parameter that doesn't exist would silently change nothing.";
    UnboundParameter "L309" Error
        "A parameter has no value"
        "The steps that depend on it can't be worked out.";
    WrongParameterType "L310" Error
        "A parameter is given a value of the wrong kind"
        "The steps that depend on it would be set to something else.";
    UnknownRoute "L311" Error
        "A route is not known"
        "Without the route it isn't known which valves are open.";
    UnknownReading "L312" Error
        "A reading is not known"
        "A condition on a reading that nobody takes would never come true.";
    UnknownCode "L313" Error
        "A waiver names a code that does not exist"
        "The finding that was meant would still stand.";
    UselessWaiver "L314" Warning
        "A waiver waives nothing"
        "Left over, it would hide the next finding of its kind.";
    WaiverOfSafety "L315" Error
        "A safety finding can't be waived"
        "A written reason doesn't keep anybody from being burnt.";

    // L4xx. The plan and the state of the bench.
    NoCap "L401" Error
        "A repeat has no cap"
        "A condition that never comes true would keep the bench running for ever.";
    PlanTooLong "L402" Error
        "The plan has more than 100000 steps"
        "Nobody can run it; a number is probably wrong.";
    EmptyBlock "L403" Warning
        "A block is empty"
        "Nothing would be done where something was announced.";
    NoSteps "L404" Error
        "A protocol has no steps"
        "There is nothing to run, to record or to audit.";
    TwoPointsNeeded "L405" Error
        "A viscosity is known at one temperature only"
        "How fast an oil thins with temperature can't be told from one point.";
    ViscosityNotFalling "L406" Error
        "A viscosity does not fall with temperature"
        "Every oil gets thinner when it gets warmer; two values are swapped or one is mistyped.";
    TargetOutOfReach "L407" Error
        "A viscosity can't be reached"
        "The fluid has this viscosity only at a temperature that the rig or the fluid doesn't allow.";
    FarFromMeasured "L408" Warning
        "A viscosity is taken far from where it was measured"
        "A curve through two points drifts outside them; more than 20 K away it is a guess.";
    ViscosityOutsideDomain "L409" Error
        "A viscosity is outside the domain of its equation"
        "The equation has no meaning there and would still give a number.";
    NoFluid "L410" Error
        "A stage has no fluid"
        "Without the fluid neither temperature nor viscosity nor safety can be worked out.";
    NoInstrumentMeasures "L411" Error
        "An instrument does not measure this"
        "A reading with the wrong instrument is a number without meaning.";
    OutsideInstrumentRange "L412" Error
        "A reading is outside the range of its instrument"
        "The instrument would stand at its stop, or be damaged.";
    BelowReadableRange "L413" Warning
        "A reading is in the lowest fifth of its instrument"
        "An accuracy that is a share of the whole range is five times as large a share of so small a reading.";
    WindowFinerThanInstrument "L414" Warning
        "A window is finer than its instrument"
        "Whether the value was inside can't be told with this instrument.";
    CalibrationEnds "L415" Error
        "A calibration ends before the run"
        "A reading with an expired instrument can't be defended.";
    ReliefAboveRating "L416" Error
        "A relief valve opens above the rating of a part"
        "The part can be loaded beyond its rating before the valve opens.";
    FlashMargin "L417" Error
        "A temperature comes too close to the flash point"
        "Above it the vapour over the oil can be lit by a spark or a heater.";
    AboveLimit "L418" Error
        "A set-point is above a limit"
        "The limit was written to protect people or the rig.";
    SolventBeforeHeat "L419" Error
        "Heat follows solvent without draining and drying"
        "Solvent left in a heated loop boils off and can be lit.";
    DoseNotWeighable "L420" Warning
        "A dose can't be weighed well enough"
        "The balance's resolution is a large part of the dose's tolerance.";
    SampleNeverDrawn "L421" Error
        "A sample would never be drawn"
        "It is asked for after a batch beyond the cap.";
    SpecimenUnknown "L422" Error
        "A specimen is not known"
        "A run without a described specimen can't be traced to what was bought.";
    OrderIncomplete "L423" Error
        "The order of runs leaves some out or names some twice"
        "A run left out is noticed only when the bench is dismantled.";
    HouseRule "L424" Warning
        "A house rule is not met"
        "The laboratory has written this rule for its own bench.";
    DirtyBeforeClean "L425" Error
        "A clean test comes after dust"
        "Dust left in the loop loads the next filter before its test begins.";
    SilicaWithoutCaution "L426" Error
        "Silica dust is handled without its caution"
        "Test dust is mostly quartz, and its finest part reaches the lung: silicosis and cancer.";
    BottleTooSmall "L427" Warning
        "A bottle is too small for its tests"
        "The laboratory would have to choose which test to leave out.";
    TerminalBeyondBypass "L428" Warning
        "The terminal pressure is above the by-pass valve's opening"
        "From there on part of the oil goes round the medium, and the dust isn't captured.";
    NoReplicates "L430" Warning
        "There is only one specimen of a kind"
        "From one specimen nobody can tell a better filter from a better day.";
    FlowNotDelivered "L431" Error
        "The pump cannot deliver this flow"
        "A set-point that the pump doesn't reach is never held, and the run stops at it.";
    PumpAgainstClosed "L432" Error
        "The pump runs against closed valves"
        "Only the relief valve is left between the pump and the weakest hose.";
    OpenedUnderPressure "L433" Error
        "The rig is opened under pressure"
        "Oil under pressure leaves as a jet that goes through gloves and skin.";
    OpenedWhileHot "L434" Error
        "The rig is opened while it is hot"
        "Hot oil burns, and a can that is taken off spills what is in it.";
    HeaterWithoutFlow "L435" Error
        "The heater is on while the oil stands still"
        "Oil that doesn't move past the heater cracks and smokes on it, long before the probe shows it.";
    HeaterUnguarded "L436" Error
        "A heater is not guarded"
        "A heater that runs bare or away sets the oil on fire.";
    ReliefCutOff "L437" Error
        "The relief valve can be cut off from the pump"
        "With that valve closed nothing limits the pressure.";
    ReliefUnproved "L438" Warning
        "The relief valve has not been proved, or not lately"
        "A valve that has stuck for a year opens too late or not at all.";
    HoseTooWeak "L439" Warning
        "A hose bursts too soon above its rating"
        "Hoses age and are bent; a state's safety rule for hydraulic hoses asks for four times the working pressure.";
    TerminalBeyondStrength "L440" Warning
        "The terminal pressure comes near the element's collapse"
        "A medium that gives way lets go of what it held, and the differential pressure falls as if all were well.";
    FluidNotChanged "L441" Error
        "One fluid follows another without draining and flushing"
        "What stays of the first oil thins or thickens the second, and its viscosity is no longer the one that was measured.";
    MeterViscosity "L442" Warning
        "A flow meter is used outside its viscosities"
        "Turbines and gears read a few per cent, some by a third, wrong in oil that they were not calibrated with.";
    NeverCalibrated "L443" Error
        "An instrument has no calibration"
        "Nobody can say how far from the truth it reads.";
    NoZeroCheck "L444" Warning
        "A differential-pressure gauge is read without a zero check"
        "A gauge that was overloaded once stays shifted, and every reading with it.";
    NoTare "L445" Warning
        "No tare is taken off"
        "Pipework and housing cost pressure too; without their tare a filter looks worse than it is.";
    PolisherOpen "L446" Error
        "The polishing filter is open while dust goes in"
        "It catches the dust that was meant for the specimen.";
    InjectorCannot "L447" Error
        "The injector cannot do this"
        "A dose that doesn't go in at once, or not at all, isn't the dose that was planned.";
    FlushTooSmall "L448" Warning
        "A sampling valve is flushed too little"
        "What stood in the valve since the last bottle is counted with this one.";
    LoneBottle "L449" Warning
        "A bottle after the specimen has no partner before it"
        "Without what went in, nobody can say what share was held back.";
    NoBlank "L450" Warning
        "There is no blank of the rig by itself"
        "Rig, valve and bottle shed particles too, and they would be counted against the filter.";
    SupplyShort "L451" Warning
        "The supply does not last for the campaign"
        "A second lot in the middle makes the filters before and after it unlike.";

    // Pressure and flow, instruments.
    PressureNotAboveZero "L485" Error
        "A pressure of the rig is not above zero"
        "The relief valve has to open above the pressure of the test and below the rating of the weakest part; nothing can be compared with a pressure of nothing.";
    PartUnrated "L486" Warning
        "A part that holds pressure has no rating"
        "The relief valve protects only what is known to stand its setting.";
    GaugeBelowRelief "L487" Warning
        "The relief valve opens above the end of a gauge"
        "The gauge is driven past its end before the valve opens, and shows wrong values from then on without looking broken.";
    ReliefTooNear "L488" Error
        "The relief valve opens before the test is through"
        "A relief valve weeps before it opens: part of the flow goes back to the tank unseen, and the filter gets less than was set.";
    RouteNotTaken "L489" Error
        "The pump starts before the valves are set"
        "A pump that starts against a closed valve pushes until the relief valve opens, or a hose gives way.";
    FlowWithoutPump "L490" Error
        "A flow is asked for while the pump is off"
        "Somebody will start the pump when it seems right, with the valves as they happen to stand.";
    SpecimenPlace "L491" Error
        "What stands in the specimen's place is not what the step needs"
        "Oil leaves an open connection, or the pipework is measured in the filter's name.";
    LimitIdle "L492" Error
        "A limit would never stop the run"
        "A limit that cannot be reached or cannot be seen protects nobody.";
    LimitMissing "L493" Warning
        "Nothing says when the run is to be stopped"
        "Without a number on the sheet everybody waits for somebody else to say stop.";
    SweepPoint "L494" Error
        "A flow of a sweep is no point of a curve"
        "It costs a wait and gives nothing, or it is a slip for another flow.";
    CurveTooThin "L495" Warning
        "A sweep has too few flows, or one direction only"
        "Few points lie on any curve, and one direction does not show what changed on the way.";
    BeyondRatedFlow "L496" Note
        "A flow is beyond what the filter is rated for"
        "Its maker promises nothing there, and a poor result says nothing about its use.";
    PumpStarves "L497" Error
        "The pump would starve"
        "Where the suction line takes too much, air comes out of the oil in front of the pump: it foams, the pump howls and wears, and the flow is short.";
    FlowSags "L498" Warning
        "The flow falls while the pressure climbs"
        "More of the oil slips back through the pump as the filter fills, and the end comes at another flow than the start.";
    TerminalInNoise "L499" Warning
        "A terminal pressure is hardly more than the gauge's error"
        "Whether the end was reached would be decided by the gauge and not by the filter.";
    BypassInSweep "L500" Warning
        "The by-pass valve would open within the sweep"
        "From there on the curve is the valve's and no longer the filter's.";
    OffTheGauge "L501" Error
        "The filter would take more pressure than its gauge can show well"
        "The gauge stands at its stop, may be damaged, and the run is lost.";
    BackPressureLow "L502" Note
        "There is hardly any back pressure"
        "The air that is dissolved in the oil comes out behind the filter, and its bubbles are counted as particles.";
    BurstUnguarded "L503" Error
        "A burst test lacks a safeguard"
        "What bursts throws oil and pieces at whoever stands there.";
    SampledUnderPressure "L504" Error
        "A bottle is drawn from a line under high pressure"
        "A jet of oil goes through gloves and skin; it has been reported from about 700 kPa on, and it needs a surgeon at once.";
    GaugeTooCoarse "L505" Warning
        "A gauge is too coarse for what it reads"
        "Two filters that differ by less than the gauge's step look alike, or unlike by chance.";
    CalibrationBegins "L506" Error
        "A calibration begins after the campaign"
        "What is read before that day can't be defended by it.";
    TapHeight "L507" Warning
        "The height between the taps of a gauge is not given"
        "Oil in the lines to the gauge weighs: where one tap sits a metre higher than the other, about 8.5 kPa are read that no filter takes.";
    ThermometerElsewhere "L508" Warning
        "A thermometer sits in the wrong place"
        "Oil in the tank is not as warm as oil in the filter, and two kelvin of difference are a tenth of its viscosity.";
    OneGaugeTwoPlaces "L509" Error
        "One instrument is wanted in two places at once"
        "It can be connected to one of them only, and the other value would be written down all the same.";
    LoggedTooSeldom "L510" Warning
        "A log is too slow for what it is to show"
        "Whether a value had settled can't be told from a point or two.";
    ClocksNotSet "L511" Note
        "Several clocks are read, and none is set"
        "A bottle can't be put beside the pressure of its moment when the two clocks differ.";
    SmallGaugeExposed "L512" Error
        "A small gauge is left open to a pressure beyond its range"
        "It is bent or shifted by it, and everything that it reads afterwards is wrong.";
    ZeroUnderPressure "L513" Warning
        "A gauge is zeroed under pressure"
        "What stands on the gauge at that moment is taken off every reading.";

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
}
