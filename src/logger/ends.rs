//! Line ends of a file that has only carriage returns, as some old instruments write them.

use std::io::Read;

/// A stream whose lines end with a line feed, whatever ended them before. Which it is, the first line end says.
pub(super) struct Ends<R> {
    stream: R,
    only_returns: Option<bool>,
}

impl<R: Read> Ends<R> {
    pub(super) fn new(stream: R) -> Self {
        Self { stream, only_returns: None }
    }
}

impl<R: Read> Read for Ends<R> {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        let mut count = self.stream.read(buffer)?;
        let got = buffer.get(..count).unwrap_or_default();
        if self.only_returns.is_none()
            && let Some(at) = memchr::memchr2(b'\n', b'\r', got)
        {
            let is_return = got.get(at) == Some(&b'\r');
            // What follows a carriage return may not have been read yet.
            if is_return && at + 1 == count {
                count += self.stream.read(buffer.get_mut(count..count + 1).unwrap_or_default())?;
            }
            self.only_returns = Some(is_return && buffer.get(at + 1) != Some(&b'\n'));
        }
        if self.only_returns == Some(true) {
            buffer.iter_mut().take(count).filter(|byte| **byte == b'\r').for_each(|byte| *byte = b'\n');
        }
        Ok(count)
    }
}
