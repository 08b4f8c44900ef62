//! Values that others published: every number here names its source, and none was made by this program.

mod physics_density;
mod physics_hydraulics;
mod physics_loop;
mod physics_viscosity;
mod si;
mod table;
mod values;
