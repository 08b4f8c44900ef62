//! Files as text, and the places in them. Knows nothing of the language.

mod loader;
mod span;
mod text;

pub use loader::{LARGEST_FILE, LoadError, Loader, Memory, decode};
pub use span::{SourceId, Span, Spanned};
pub use text::{Source, Sources};
