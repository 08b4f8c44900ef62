//! Blocks of a text, read by several threads and handed on in their order: the result is the same for any number of them.

use std::collections::BTreeMap;
use std::io::Read;
use std::sync::{Mutex, mpsc};
use std::thread;

use super::block::{Block, Order, Trouble, trouble};
use super::ends::Ends;
use super::lines::LONGEST_LINE;
use super::parse::{Parser, Shape};

/// Bytes read at once. Larger than the longest line, small enough to stay in a core's own memory.
const BLOCK: usize = 4 * LONGEST_LINE;
/// Threads that read; the caller's own takes what they have read.
const READERS: usize = 2;
/// Blocks that are on the way at once: the memory used.
const ON_THE_WAY: usize = 3 * READERS;

/// A stream, cut into blocks at line ends.
pub(super) struct Feed<R> {
    stream: Ends<R>,
    /// Begun lines of which the rest is still to come.
    carry: Vec<u8>,
    over: bool,
    /// Number of the next block.
    next: u64,
}

impl<R: Read> Feed<R> {
    pub(super) fn new(stream: Ends<R>, carry: Vec<u8>) -> Self {
        Self { stream, carry, over: false, next: 0 }
    }

    /// Fills the text of a block; `false` when there is nothing more.
    fn fill(&mut self, block: &mut Block) -> bool {
        block.clear();
        if self.over {
            return false;
        }
        let text = &mut block.text;
        std::mem::swap(text, &mut self.carry);
        let mut end = text.len();
        text.resize(BLOCK.max(end + LONGEST_LINE), 0);
        while end < text.len() {
            match self.stream.read(text.get_mut(end..).unwrap_or_default()) {
                Ok(0) => {
                    self.over = true;
                    break;
                }
                Ok(count) => end += count,
                Err(error) if error.kind() == std::io::ErrorKind::Interrupted => {}
                Err(error) => {
                    self.over = true;
                    let what = format!("it can't be read on: {error}");
                    block.trouble = Some(Trouble { line: u64::MAX, ..trouble(0, b"", what, "Copy the file again.") });
                    break;
                }
            }
        }
        text.truncate(end);
        self.carry.clear();
        if !self.over
            && let Some(at) = memchr::memrchr(b'\n', text)
        {
            self.carry.extend_from_slice(text.get(at + 1..).unwrap_or_default());
            text.truncate(at + 1);
        }
        if block.trouble.is_some() {
            // The line on which it broke off is none.
            text.truncate(memchr::memrchr(b'\n', text).map_or(0, |at| at + 1));
        }
        true
    }
}

/// Reads all blocks and hands each on, with its rows made ready.
///
/// # Errors
/// When the stream fails or a line has no end; the blocks before were handed on.
pub(super) fn read<R: Read + Send>(
    mut feed: Feed<R>,
    shape: &Shape,
    order: &mut Order<'_>,
    mut take: impl FnMut(&Block),
) -> Result<(), Trouble> {
    let mut accept = |block: &mut Block| {
        let done = order.add(block);
        take(block);
        done
    };
    let mut block = Block::default();
    let mut parser = Parser::new(shape);
    if feed.fill(&mut block) {
        parse(&mut parser, &mut block);
        accept(&mut block)?;
    }
    if feed.over {
        return Ok(());
    }
    let feed = Mutex::new(feed);
    let (give_back, empty) = mpsc::channel::<Block>();
    let (hand_on, full) = mpsc::channel::<(u64, Block)>();
    for block in std::iter::once(block).chain(std::iter::repeat_with(Block::default)).take(ON_THE_WAY) {
        let _ = give_back.send(block);
    }
    let empty = Mutex::new(empty);
    thread::scope(|scope| {
        for _ in 0..READERS {
            let hand_on = hand_on.clone();
            let (feed, empty) = (&feed, &empty);
            scope.spawn(move || {
                let mut parser = Parser::new(shape);
                loop {
                    // An empty block is taken before a number, so the block that is waited for always has its room.
                    let block = empty.lock().ok().and_then(|empty| empty.recv().ok());
                    let Some(mut block) = block else { return };
                    let number = {
                        let Ok(mut feed) = feed.lock() else { return };
                        if !feed.fill(&mut block) {
                            return;
                        }
                        feed.next += 1;
                        feed.next - 1
                    };
                    parse(&mut parser, &mut block);
                    if hand_on.send((number, block)).is_err() {
                        return;
                    }
                }
            });
        }
        drop(hand_on);
        let mut early = BTreeMap::new();
        let mut next = 0;
        let mut done = Ok(());
        'all: for (number, block) in &full {
            early.insert(number, block);
            while let Some(mut block) = early.remove(&next) {
                next += 1;
                done = accept(&mut block);
                if done.is_err() {
                    break 'all;
                }
                let _ = give_back.send(block);
            }
        }
        // Nobody waits for an empty block or a taker that no longer comes.
        drop((give_back, full));
        done
    })
}

fn parse(parser: &mut Parser<'_>, block: &mut Block) {
    let stopped = block.trouble.take();
    parser.read(block);
    block.trouble = block.trouble.take().or(stopped);
}
