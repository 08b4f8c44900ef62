//! Where files come from. The core never opens one: it asks a [`Loader`], and the shells bring the one for the disk.

use indexmap::IndexMap;
use thiserror::Error;

/// The largest file that is read, in bytes (32 MiB). A protocol is a few kilobytes; a day of a logger, a few megabytes.
pub const LARGEST_FILE: usize = 32 * 1024 * 1024;

/// Why a file could not be had as text.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum LoadError {
    /// No file under this path.
    #[error("there is no such file")]
    NotFound,
    /// The bytes are not UTF-8 text.
    #[error("byte {offset} is not text in UTF-8")]
    NotText {
        /// First byte that is not text.
        offset: usize,
    },
    /// More than [`LARGEST_FILE`].
    #[error("the file has {bytes} bytes, more than {LARGEST_FILE}")]
    TooLarge {
        /// Size of the file in bytes.
        bytes: usize,
    },
    /// What the system said.
    #[error("{0}")]
    Other(String),
}

/// Gives the text of a file by its path. The path is the one written, already joined to the folder of the file that
/// names it, with `/` between folders.
pub trait Loader {
    /// The text of one file.
    ///
    /// # Errors
    /// When the file is missing, is not text, or is larger than [`LARGEST_FILE`].
    fn read(&self, path: &str) -> Result<String, LoadError>;
}

/// Files held in memory, for tests, for the editor and for what ships inside the tool.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Memory(pub IndexMap<String, Vec<u8>>);

impl Memory {
    /// No file.
    pub fn new() -> Self {
        Self::default()
    }

    /// The same files and one more.
    #[must_use]
    pub fn with(mut self, path: impl Into<String>, bytes: impl Into<Vec<u8>>) -> Self {
        self.0.insert(path.into(), bytes.into());
        self
    }
}

impl Loader for Memory {
    fn read(&self, path: &str) -> Result<String, LoadError> {
        decode(self.0.get(path).ok_or(LoadError::NotFound)?)
    }
}

/// Bytes to text: UTF-8, with or without byte-order mark, without NUL, at most [`LARGEST_FILE`] bytes.
///
/// # Errors
/// [`LoadError::TooLarge`], or [`LoadError::NotText`] with the first byte that is not text.
pub fn decode(bytes: &[u8]) -> Result<String, LoadError> {
    if bytes.len() > LARGEST_FILE {
        return Err(LoadError::TooLarge { bytes: bytes.len() });
    }
    if let Some(offset) = bytes.iter().position(|byte| *byte == 0) {
        return Err(LoadError::NotText { offset });
    }
    let text = str::from_utf8(bytes).map_err(|error| LoadError::NotText { offset: error.valid_up_to() })?;
    Ok(text.strip_prefix('\u{feff}').unwrap_or(text).to_owned())
}
