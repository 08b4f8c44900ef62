//! What is written: characters, statements, quantities, names.

/// Adds these codes to those gathered before, and hands on.
macro_rules! writing {
    ([$($rest:ident)*] $($before:tt)*) => {
        gather! { [$($rest)*] $($before)*
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
            "Day and month change places between countries, and a run with a date that doesn't exist can't be traced.";

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

        // Writing.
        MixedUnits "L219" Warning
            "One quantity is read in two units"
            "A number from one gauge is soon compared with one from another; in two units that is a slip waiting to happen.";
        CannotBe "L220" Error
            "A value cannot exist"
            "A sign or a zero too many is worked with like any other number, and everything computed from it is wrong.";
        ShareAboveWhole "L221" Error
            "A share is above the whole"
            "Nothing can lose, hold back or hold more than all of itself; a point has slipped or the unit is another.";
        OtherScale "L222" Error
            "A temperature looks as if it was meant on the other scale"
            "140 °F is 60 °C. Set as 140 °C it boils what is wet and ruins hoses, seals and pump.";
        TooManyDigits "L223" Note
            "A set value has more digits than its instrument shows"
            "Nobody can set what the instrument does not show, and the sheet promises it all the same.";

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

        // Writing.
        NameIsWord "L316" Error
            "A name is a unit or a word of the language"
            "`2 min` would be two minutes to one reader and twice the value called `min` to another.";
        ResultUnknown "L317" Error
            "A question names a result that the plan does not lead to"
            "After weeks at the bench the question would stand there without an answer.";
        }
    };
}
pub(super) use writing;
