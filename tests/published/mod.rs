//! Values that others published: every number here names its source, and none was made by this program.

mod statistics_cleanliness;
mod statistics_comparison;
mod statistics_counting;
mod statistics_properties;
mod statistics_reference;
mod statistics_rows;
mod statistics_strd;
mod statistics_uncertainty;
mod table;
