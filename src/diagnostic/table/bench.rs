//! The plan and the state of the bench: oil, heat, pressure, instruments.

/// Adds these codes to those gathered before, and hands on.
macro_rules! bench {
    ([$($rest:ident)*] $($before:tt)*) => {
        gather! { [$($rest)*] $($before)*
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
        }
    };
}
pub(super) use bench;
