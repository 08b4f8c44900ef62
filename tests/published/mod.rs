//! Values that others published: every number here names its source, and none was made by this program.

mod table;
