//! Drawing on paper: shapes as SVG text, axes with round marks. Black on white; what differs, differs in shape.

mod canvas;

mod scale;

pub(crate) use canvas::{Canvas, Fill, Hold, Shape, Stroke, apart};
pub(crate) use scale::Scale;
