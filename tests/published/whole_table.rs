//! The table of published values holds no row that nobody makes any more.

use super::{
    physics_density as density, physics_hydraulics as hydraulics, physics_loop as loop_balance,
    physics_viscosity as viscosity, statistics_cleanliness as cleanliness, statistics_comparison as comparison,
    statistics_counting as counting, statistics_strd as strd, statistics_uncertainty as uncertainty, table::stale,
};

/// The sets of NIST that are read from a folder beside the repository, where it exists.
const NOT_SHIPPED: [&str; 7] = ["Pontius", "Longley", "Filip", "Lew", "Lottery", "Mavro", "Michelso"];

/// Runs every test that stands for rows; a test that is missing here shows up by its rows.
#[test]
fn every_row_of_the_published_values_is_still_made() {
    let tests: [fn(); 25] = [
        density::density_against_temperature,
        hydraulics::line_loss_and_friction,
        hydraulics::differential_pressure_against_flow,
        hydraulics::bubble_point,
        loop_balance::clean_up_of_a_loop,
        loop_balance::dust_in_a_multi_pass_loop,
        viscosity::viscosity_against_temperature,
        viscosity::viscosity_published_with_the_older_absolute_zero,
        viscosity::temperature_for_the_viscosities_of_filter_tests,
        viscosity::index_of_viscosity,
        viscosity::saybolt_universal_seconds,
        viscosity::classes_of_viscosity,
        cleanliness::cleanliness_codes_agree_with_the_published_tables,
        cleanliness::class_limits_agree_with_the_whole_published_table,
        cleanliness::each_iso_4406_band_holds_its_upper_limit_and_nothing_above,
        cleanliness::sizes_agree_with_the_published_and_the_remembered_correspondence,
        comparison::plant_weights_give_the_printed_comparison,
        comparison::studentized_range_points_agree_with_the_printed_tables,
        comparison::dunnett_points_agree_with_the_printed_tables,
        counting::filter_performance_agrees_with_the_published_relations,
        counting::counting_statistics_agree_with_other_peoples_programs,
        strd::certified_univariate_values_come_out,
        strd::certified_regressions_come_out,
        strd::certified_analyses_of_variance_come_out,
        strd::certified_values_of_sets_that_are_not_shipped_come_out,
    ];
    tests.iter().for_each(|test| test());
    uncertainty::uncertainties_agree_with_the_guide_and_its_tables();
    let absent = strd::shared().is_none();
    let kept = |row: &str| absent && NOT_SHIPPED.iter().any(|set| row.starts_with(&format!("| 12 NIST StRD | {set};")));
    let stale = stale(kept);
    assert!(
        stale.is_empty(),
        "no test makes these rows of docs/published-values.md any more: run the tests with LOOPLEAF_BLESS=1\n{}",
        stale.join("\n")
    );
}
