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
        "A heater that stands bare, or that nothing stops, sets the oil on fire.";
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

    // Fluid, heat.
    HeaterMissing "L455" Error
        "Heat is asked for and the rig has no heater"
        "The run would stop at the first warm set-point, or somebody would help with a heater that nothing guards.";
    ViscosityUnsteady "L456" Error
        "A temperature window lets the viscosity move too far"
        "Differential pressure follows viscosity: oil that is 8 % thicker costs up to 8 % more pressure, and the filter gets the blame.";
    PolymerThickened "L457" Warning
        "The test oil is thickened with polymer"
        "The long molecules are torn in pump and filter, so the oil gets thinner from run to run at the same temperature.";
    GhostCounts "L458" Warning
        "The oil itself can be counted as particles"
        "Droplets of silicone anti-foam block the light like dust; a conference abstract reports three times the counts at 4 µm and 6 µm.";
    ViscosityUnverified "L459" Warning
        "The viscosity in the rig is never looked at"
        "What was left of the last oil, a wrong drum or a sheet for another lot all show in one drawn sample, and nowhere else before the results.";
    FlushTooWeak "L460" Warning
        "A flush leaves too much of the last oil"
        "What stays in pump, hoses and housings mixes into the new oil and moves its viscosity.";
    OilTooLong "L461" Warning
        "The same oil stays for many runs"
        "Dust finer than 4 µm builds up unseen, water and air come in, and the viscosity that was measured is that of another day.";
    SealsUnasked "L462" Warning
        "Nothing says that the seals stand this fluid"
        "A seal that swells or shrinks leaks under pressure, hot oil first.";
    ChargeUnknown "L463" Note
        "Oil and medium may charge each other"
        "Oil that conducts badly is charged by glass and synthetic media; the charge holds back fine dust that the medium itself would let pass.";
    ColdAlone "L465" Note
        "A cold run has no warm partner"
        "Only with both can one tell how much of the pressure is the oil's viscosity and how much the filter's passages.";
    HighLimitTooHigh "L466" Error
        "The heater's high limit cuts off too late"
        "It is the last thing that works when the controller sticks; set above what oil and parts stand, it protects nothing.";
    WarmUpLong "L467" Note
        "Warming up takes long"
        "A day that is planned without it ends in a hurry, or in results from oil that was still warming.";
    LimitTooHigh "L468" Error
        "A limit lies above what it is to protect"
        "The sheet says when to stop; with this limit it says so when the damage is done.";
    WaterBeforeHeat "L469" Error
        "Hot oil follows water"
        "Water that is left in a corner turns to steam at once when hot oil reaches it, and throws the oil out.";
    SolventInBath "L470" Error
        "A solvent goes into the ultrasonic bath"
        "Ultrasound makes a fog above the liquid that can be lit below the flash point.";
    OvenNearSolvent "L471" Error
        "An oven runs while something is wet with solvent"
        "Solvent vapour is heavier than air, creeps along the floor, and an oven's element lights it.";
    MistNearHotSurface "L472" Warning
        "Oil under pressure runs near a hot surface"
        "A leak at pressure is a mist, and mist lights on a surface of 200 °C and more.";
    HeaterFierce "L473" Warning
        "The heater is too fierce for thick oil"
        "Thick oil hardly moves along the heater: it cokes on it, and coke is counted as particles.";
    SelfWarming "L474" Warning
        "The pump warms the oil out of its window"
        "All the pressure that is spent ends as heat; cold oil warms while it is read and nothing cools it.";

    // Pressure and flow, instruments.
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

    // Background, dust.
    TareUnlike "L515" Error
        "A tare was taken at another flow or viscosity"
        "The loss of the pipework changes with both: what is taken off is then not what the pipework costs here.";
    TareElsewhere "L516" Error
        "A tare was taken by another way or with another gauge"
        "A tare takes off the pipework that it saw, and a gauge's own error goes out only where both are read on the same one.";
    NoDustyBlank "L517" Warning
        "Nothing shows that the dust arrives"
        "Dust stays in boat, pot, line and tank; without a bottle of the challenge all of it counts as held by the filter.";
    NoBaseSample "L518" Error
        "There is no bottle from before the dust"
        "A new filter sheds fibres, and the oil has particles of its own; without a base sample they count as dust let through.";
    NoBackgroundLimit "L519" Error
        "Nothing says how clean the oil must be before the dust"
        "What the oil brings along is counted behind every filter, and from run to run it is not the same.";
    NoConditioning "L520" Warning
        "The rig is not conditioned alike before the dust"
        "Clean pipes and a clean pot keep some of the first dust, so the first filter is given less of it than the next.";
    NoReference "L521" Warning
        "No reference filter shows whether the bench drifts"
        "Oil ages, gauges shift and hands get used to the work: without the same filter at both ends, that looks like a difference between filters.";
    BackgroundHides "L522" Warning
        "The background may hide what is to be counted"
        "The scatter of the particles that are there anyway is as large as the number that the filter lets through.";
    DustWithoutLot "L523" Warning
        "A dust has no lot"
        "Two jars of one grade differ, and without the lot nobody can tell later which one was used.";
    DustNotReady "L524" Warning
        "The dust is not dried or not blended before it is weighed"
        "Damp dust weighs more and clumps, and in transport the coarse grains go to the bottom of the jar.";
    TooFewParticles "L525" Warning
        "Too few particles would be counted"
        "A handful of particles is chance: from 20 the efficiency is known to a fifth of what is let through, from 100 to a tenth.";
    TooManyParticles "L526" Warning
        "There are too many particles for the counter"
        "Particles that pass the sensor together count as one, so the count is too low, and lower still the more there are.";
    TankDustCeiling "L527" Warning
        "More dust gathers in the oil than the method was made for"
        "What the filter lets through comes back again and again; beyond this level it meets more old dust than new.";
    LastDosesTooBig "L528" Warning
        "The last doses are too big"
        "Near the end the pressure rises fast: one big dose jumps over the end, and the capacity is known only to that dose.";
    DosesDoNotAddUp "L529" Error
        "The doses do not add up"
        "A loop that ends sooner or later than its numbers say leaves bottles undrawn or a filter half loaded.";
    MilligramsOrGrams "L530" Error
        "A dose does not fit the volume of oil"
        "Milligrams and grams are a factor of a thousand apart, and a dose once poured in can't be taken back.";
    DustUnfitForClaim "L531" Error
        "The dust has no particles of the claimed size"
        "A claim can be tested only with particles of its size, before and behind the filter.";
    UnlikeFilters "L532" Note
        "The same dose meets filters of unlike size"
        "A filter with twice the medium is dirtied half as fast, so a round number of doses says more about size than about quality.";
    LotChange "L533" Warning
        "More than one lot of dust is used"
        "Two lots of one grade differ by several per cent in capacity, as much as two filters.";
    ResidueIgnored "L534" Warning
        "What stays in the boat is not weighed"
        "A few per cent of a small dose cling to the boat, and the account would call them held by the filter.";

    // Injection, clean-up.
    SlurryRunsDry "L535" Error
        "The slurry runs out before the injection ends"
        "From then on clean oil is injected, and the rest of the curve belongs to no dust.";
    FeedDoesNotFit "L536" Error
        "The feed does not fit the dose"
        "Either the mass on the balance or the strength of the slurry is wrong, and the account of the dust with it.";
    SlurrySettles "L537" Warning
        "The slurry settles in the injection line"
        "Coarse grains stay behind in the line: the dust that arrives is finer and less than the dust that was weighed.";
    PotNotStirred "L538" Error
        "The slurry is not stirred while it is injected"
        "The coarse grains sink, so the filter gets them first or not at all.";
    SlurrySwells "L539" Warning
        "The slurry adds much oil to the tank"
        "Every concentration is reckoned with the volume of oil, and a tank that fills up runs over.";
    DustNotCarried "L540" Error
        "Nothing carries the dust to the specimen"
        "Dust that goes in where no oil flows settles there, and comes along later when nobody expects it.";
    NoRinse "L541" Warning
        "The injector is not rinsed after a dose"
        "Dust that stays in pot and line belongs to the dose, and the next one takes it along.";
    DoseOutlastsDecay "L542" Warning
        "A dose takes longer to go in than to be caught"
        "The filter catches the first of the dust before the last is in, so the oil never holds the whole dose at once.";
    NotMixed "L543" Warning
        "A bottle is drawn before the dust is mixed in"
        "What it holds depends on where the cloud of dust happens to be.";
    SlurryTooThick "L544" Note
        "The slurry is thick"
        "Grains in a thick slurry clump and stick to the pot and the line.";
    BathTooLong "L545" Note
        "The ultrasonic bath is long or hot"
        "After some minutes it breaks no more clumps but grains, and it warms the oil.";
    CleanUpTooShort "L546" Error
        "A clean-up is too short"
        "It stops before the oil is clean, and the next filter starts with this one's dust.";
    PolisherTooCoarse "L547" Error
        "The polishing filter is too coarse"
        "The fine particles that are counted stay in the oil, however long it is cleaned.";
    PolisherWornOut "L548" Warning
        "The polishing filter is worn out before the campaign ends"
        "A full polishing filter cleans slowly or lets go of what it held, and the background rises from run to run.";
    CleanUpOnTime "L549" Warning
        "A clean-up ends by the clock alone"
        "Whether the oil is clean is then a hope: a leaking valve or a worn polishing filter stays unseen.";
    BranchNotCleaned "L550" Warning
        "A branch or a valve was left out of the clean-up"
        "Dust that stood in it, or that a turning valve sheds, comes along with the next oil.";
    SpecimenAsPolisher "L551" Error
        "The specimen is in the circuit during the clean-up"
        "It catches the dust that the polishing filter should have, and nobody has weighed that dust for it.";
    CleanUpCleansNothing "L552" Error
        "The clean-up does not go through a polishing filter"
        "Oil that stands still, or that goes round the polishing filter, does not get cleaner.";
    DoseOfZero "L553" Error
        "A dose, a carrier or an injection is nothing"
        "A dose of nothing is noticed only when the filter never fills.";
    SizesFall "L554" Error
        "A table of grain sizes falls or goes beyond 100 %"
        "The share that is finer can only grow with size, up to all of it; what is counted on it would be wrong.";

    // Sampling and laboratory.
    BottleOutOfFlow "L555" Error
        "A bottle is drawn where no oil flows"
        "Oil that stands lets its dust sink; what comes out of the valve is what settled there, not what flows.";
    SamplerOnOtherSide "L556" Error
        "A sampling valve sits on the other side than it is used for"
        "Two bottles from one side of the specimen say nothing of what it held back.";
    SampledTooEarly "L557" Error
        "A bottle is drawn before the oil has come round"
        "A start, a new flow or a turned valve shakes old dirt loose, and the oil from before still stands in the line.";
    SampledTooLate "L558" Error
        "A bottle is drawn after the dust has gone"
        "A dose falls away as the oil goes round; a bottle drawn too late compares background with background.";
    PairTooFarApart "L559" Warning
        "The two bottles of a pair are drawn too far apart"
        "The dust falls from minute to minute; the two bottles then see different oil, and their ratio is not the filter's.";
    NoLineDelay "L560" Note
        "The way from one valve to the other is not waited for"
        "Oil drawn after the specimen went past the valve before it some seconds earlier.";
    SmoothFlowAtValve "L561" Warning
        "The oil flows too smoothly past a sampling valve"
        "In smooth flow coarse dust keeps to the bottom of the pipe and the middle is cleaner; a turbulent stream is mixed.";
    FlushUnaccounted "L562" Warning
        "Nobody can say where the flushed oil goes"
        "Dust that leaves with it is missing in the account of what the filter was given.";
    DrainedBySampling "L563" Warning
        "Bottles take too much out of the tank"
        "With the oil its dust leaves too, and the oil that is left goes round faster than planned.";
    BottleTooDirty "L564" Warning
        "A bottle may be dirtier than the oil in it"
        "The laboratory counts what was in the bottle before as well.";
    FilledToTheBrim "L565" Warning
        "Bottles are filled too full"
        "A bottle without air above the oil can't be shaken up again, and warm oil lifts its cap.";
    NoTwins "L566" Warning
        "Too few bottles are drawn twice"
        "Without twins nobody can tell how far two counts of the same oil lie apart.";
    DirtyBottleFirst "L567" Warning
        "The dirtier bottle of a pair is drawn first"
        "What sticks to hands, hose and cap goes into the second bottle; in the cleaner oil it shows, in the dirtier it does not.";
    BottlesShort "L568" Error
        "There are not enough bottles"
        "A bottle that is missing at the bench is replaced by one that nobody has cleaned.";
    HotOilInBottle "L569" Error
        "Oil is too hot for its bottle"
        "A soft bottle gives way in the hand, and hot oil burns.";
    LabelTellsMaker "L570" Warning
        "A label tells which model it is"
        "Whoever counts or scores should not know whose filter it was.";
    BottlesWait "L571" Note
        "Bottles wait too long before they are counted"
        "Dust settles, sticks to the wall and clumps; what stays there isn't counted.";
    SizeNotCounted "L572" Error
        "A size that is needed is not counted"
        "A claim at a size that nobody counts can be neither shown nor refuted.";
    CodeOnly "L573" Error
        "The laboratory reports codes only"
        "One step of a cleanliness code is a factor of two; what a filter holds back can't be worked out from it.";
    CalibrationUnasked "L574" Warning
        "The counter's calibration is not asked for"
        "The same oil counts differently after another calibration, and nobody can tell afterwards which one it was.";
    DilutionUnasked "L575" Warning
        "It is not said whether counts include the dilution"
        "Taken the wrong way, every count is wrong by the factor of the dilution.";
    TooLittleCounted "L576" Warning
        "Too little oil is counted for the limit that is asked"
        "A handful of particles says hardly more than none; a count of twenty is known to a quarter at best.";
    TwoLaboratories "L577" Error
        "One comparison is counted by two laboratories"
        "Two counters can differ by more than two filters do.";
    BubblesNotExcluded "L578" Note
        "Bubbles, water or settled dust may be counted"
        "A counter takes bubbles and drops of water for particles, and misses what lies on the bottom of the bottle.";
    NothingKept "L579" Note
        "No bottle is kept for a second count"
        "When a count looks wrong there is nothing left to count again.";

    // Sequence and design.
    DestroyedFirst "L580" Error
        "A specimen is used after it was destroyed"
        "What was cut open or burst can't be measured any more.";
    OrderFollowsModel "L581" Warning
        "The runs are in the order of the models"
        "The bench drifts from run to run; in such an order the drift looks like a difference between models.";
    TooFewToTell "L582" Warning
        "There are too few specimens to see the difference"
        "A difference smaller than the scatter can't be told from luck.";
    NoStopRule "L583" Error
        "Nothing says when a run is stopped"
        "In the moment itself everybody hopes that it will be all right.";
    NoRejectionRule "L584" Error
        "Nothing says which runs do not count"
        "Whoever looks for a reason after seeing the result finds one for the runs that nobody likes.";
    DayTooLong "L585" Warning
        "The days are too long"
        "After nine hours at a hot rig readings are skipped and valves are mixed up.";
    NoChangeRule "L586" Warning
        "Nothing says what to do when something has to change"
        "A change that is made in the middle and written nowhere is found only by its results.";
    RigChanges "L587" Warning
        "The rig changes in the middle of a test"
        "What differs between the filters and what differs between two set-ups can't be told apart.";
    TooManyPairs "L588" Note
        "Many models are compared with one another"
        "Of twenty pairs that are alike one differs by chance.";
    ScorerKnows "L589" Note
        "Who scores the opened cans knows the models"
        "What is scored by eye follows what the eye expects.";
    WeightsWrong "L590" Error
        "The weights of the score do not fit"
        "A score whose weights name nothing, or do not make a whole, ranks something else.";
    DatesWrong "L591" Error
        "The dates of the campaign do not fit"
        "Calibrations, orders and people are booked by these dates.";

    // People and cautions.
    HazardWithoutCaution "L595" Error
        "A hazard of the plan has no caution"
        "Nobody opens a safety data sheet in the middle of a run: what the worksheet doesn't warn of, nobody is warned of.";
    NoProtection "L596" Warning
        "Nothing says what to wear"
        "Gloves, shield and mask that the sheet doesn't name stay in the locker.";
    NoEmergencyCard "L597" Warning
        "The emergency card is empty"
        "A jet of oil under the skin looks like a scratch; without the card it is treated as one, and the hand is lost.";
    NoSpillOrFireLine "L598" Warning
        "Nothing asks for absorbent or an extinguisher"
        "What first has to be looked for when oil is on the floor, or on fire, comes too late.";
    NoWasteRoute "L599" Warning
        "Nothing says where waste goes"
        "Without a marked can of its own, solvent ends up in the used oil and makes all of it hazardous waste.";
    Alone "L600" Error
        "Somebody works alone with hot oil or under pressure"
        "Somebody who is burnt or hurt may not be able to stop the pump and call for help.";
    SolventVapour "L601" Error
        "There is too much solvent for the room"
        "Solvent vapour makes dizzy before it is noticed, lies along the floor, and burns from about 2 % in air.";
    IgnitionBesideSolvent "L602" Error
        "Something hot or sparking stands beside solvent"
        "Solvent vapour travels along the floor and flashes back from any hot or sparking thing that it meets.";
    DustRaised "L603" Error
        "Dust is swept or blown"
        "The finest quartz, which does the damage, floats for hours once it is stirred up.";

    // Claims and report.
    BorrowedStandard "L610" Error
        "A standard is claimed that was not followed"
        "A reader takes the number for the method, conditions and all; the first difference that comes out discredits the rest.";
    NoDeparture "L611" Warning
        "A method is leaned on and no departure is named"
        "A bench that names no difference seems to claim that there is none.";
    UnlikeConditions "L612" Warning
        "Filters are compared under different conditions"
        "A difference between the filters can't be told from the difference between the conditions.";
    ColdStart "L614" Warning
        "A cold start is claimed, and only the viscosity is matched"
        "Cold also stiffens seals, shrinks springs and thickens wax; oil that is only as thick shows none of that.";
    AbsoluteWords "L615" Warning
        "Something absolute is claimed"
        "Where none was counted, the next bottle may still hold one: a count can show a share, never all.";
    CapacityAsFed "L616" Warning
        "Capacity is told from the dust that was fed"
        "A filter that lets half the dust through would seem to hold twice as much as it does.";
    InterestsUnstated "L617" Warning
        "A person's interests are not stated"
        "An interest that comes out after the report is taken for one that was hidden.";

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
}
