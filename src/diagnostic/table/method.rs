//! The method: dust, samples, laboratory, order, people, claims.

/// Adds these codes to those gathered before, and hands on.
macro_rules! method {
    ([$($rest:ident)*] $($before:tt)*) => {
        gather! { [$($rest)*] $($before)*
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
        }
    };
}
pub(super) use method;
