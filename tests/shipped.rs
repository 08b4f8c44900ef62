//! The files that ship with the tool, and noise that must not matter to them.

use std::fs;
use std::path::{Path, PathBuf};

use loopleaf::plan::{self, Plan};
use loopleaf::source::{Memory, Sources};

/// The folders of the shipped campaigns.
pub(crate) const CAMPAIGNS: [&str; 2] = ["examples/ferry-generator-sets", "examples/snow-plough-returns"];

pub(crate) fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Whether files that are made from the sources are to be written anew.
pub(crate) fn bless() -> bool {
    std::env::var_os("LOOPLEAF_BLESS").is_some()
}

/// Every file below a folder of the repository, sorted, as paths from its root.
pub(crate) fn files_below(folder: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut folders = vec![root().join(folder)];
    while let Some(folder) = folders.pop() {
        let paths: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
        for path in paths {
            if path.is_dir() {
                folders.push(path);
            } else {
                found.push(path.strip_prefix(root()).unwrap().to_str().unwrap().replace('\\', "/"));
            }
        }
    }
    found.sort();
    found
}

/// Path and text of every shipped `.leaf` file.
pub(crate) fn leaf_files() -> Vec<(String, String)> {
    let paths = ["protocols", "examples"].into_iter().flat_map(files_below);
    paths
        .filter(|path| path.ends_with(".leaf"))
        .map(|path| {
            let text = fs::read_to_string(root().join(&path)).unwrap();
            (path, text)
        })
        .collect()
}

/// These files, for the core to read.
pub(crate) fn memory(files: &[(String, String)]) -> Memory {
    files.iter().fold(Memory::new(), |memory, (path, text)| memory.with(path.clone(), text.clone()))
}

/// The plan of a campaign file and whether anything in it is an error.
pub(crate) fn bound(entry: &str, files: &Memory) -> (Option<Plan>, bool) {
    let mut sources = Sources::new();
    let bound = plan::load(entry, files, &mut sources).then(|loaded| plan::bind(&loaded));
    let errors = bound.has_errors();
    (bound.value.plans.into_iter().next(), errors)
}

/// The fingerprint of a campaign without errors.
pub(crate) fn fingerprint(entry: &str, files: &Memory) -> String {
    match bound(entry, files) {
        (Some(plan), false) => plan.fingerprint.full,
        _ => panic!("{entry} has errors"),
    }
}

/// A stretch of a text: what is one piece for layout.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Piece<'t> {
    /// Characters that stand together: words, numbers, quoted text, symbols.
    Solid(&'t str),
    Spaces,
    Newline,
    Comment(&'t str),
}

/// Cuts a text into pieces, with no help from the program.
pub(crate) fn pieces(text: &str) -> Vec<Piece<'_>> {
    let mut found = Vec::new();
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let (piece, length) = match first {
            ' ' | '\t' => (Piece::Spaces, rest.len() - rest.trim_start_matches([' ', '\t']).len()),
            '\r' if rest.starts_with("\r\n") => (Piece::Newline, 2),
            '\n' => (Piece::Newline, 1),
            '#' => {
                let length = rest.find(['\r', '\n']).unwrap_or(rest.len());
                (Piece::Comment(rest[..length].trim_end()), length)
            }
            '"' => {
                let mut escaped = false;
                let closing = rest.char_indices().skip(1).find(|(_, c)| {
                    let closes = *c == '"' && !escaped;
                    escaped = *c == '\\' && !escaped;
                    closes
                });
                let length = closing.map(|(at, _)| at + 1).unwrap();
                (Piece::Solid(&rest[..length]), length)
            }
            ',' | ';' | '{' | '}' | '[' | ']' => (Piece::Solid(&rest[..1]), 1),
            _ => {
                let length = rest.find([' ', '\t', '\r', '\n', '#', '"', ',', ';', '{', '}', '[', ']']);
                let length = length.unwrap_or(rest.len());
                (Piece::Solid(&rest[..length]), length)
            }
        };
        found.push(piece);
        rest = &rest[length..];
    }
    found
}

/// The comments of a text, in order.
pub(crate) fn comments(text: &str) -> Vec<&str> {
    let comment = |piece| match piece {
        Piece::Comment(comment) => Some(comment),
        _ => None,
    };
    pieces(text).into_iter().filter_map(comment).collect()
}

/// The same text in another layout and with more comments. Zeros change nothing.
pub(crate) fn untidy(text: &str, choices: &[u8]) -> String {
    let mut choices = choices.iter().copied().cycle();
    let mut choose = move || choices.next().unwrap_or(0);
    let mut out = String::new();
    let mut noise = 0;
    let mut brackets = 0_usize;
    let (mut last, mut commented) = ("", false);
    let all = pieces(text);
    for (at, piece) in all.iter().enumerate() {
        match *piece {
            Piece::Solid(solid) => {
                match solid {
                    "[" => brackets += 1,
                    "]" => brackets -= 1,
                    _ => {}
                }
                out.push_str(solid);
                (last, commented) = (solid, false);
            }
            Piece::Comment(comment) => {
                out.push_str(comment);
                commented = true;
            }
            Piece::Spaces => match (choose(), last) {
                (200..=220, ",") => out.push_str("\n       "),
                (221..=230, ",") => {
                    noise += 1;
                    out.push_str(&format!(" # noise {noise}\n"));
                }
                (128..=160, _) => out.push_str("   "),
                (161..=199, _) => out.push('\t'),
                _ => out.push(' '),
            },
            Piece::Newline => {
                let goes_on = brackets > 0 || last == ",";
                let comment_next = all[at + 1..]
                    .iter()
                    .find(|piece| !matches!(piece, Piece::Spaces))
                    .is_some_and(|piece| matches!(piece, Piece::Comment(_)));
                let choice = choose();
                match choice {
                    128..=143 => out.push_str("\n\n"),
                    144..=159 => out.push_str("   \n\n\n\n  "),
                    160..=175 => out.push_str("\r\n"),
                    176..=207 if !goes_on && !commented && !comment_next => out.push_str("; "),
                    176..=207 if !goes_on && !commented => out.push_str(" ;\n"),
                    208..=231 if !commented => {
                        noise += 1;
                        out.push_str(&format!(" # noise {noise}: \"; {{\n"));
                    }
                    232..=255 => {
                        noise += 1;
                        out.push_str(&format!("\n# noise {noise}: }}\n"));
                    }
                    _ => out.push('\n'),
                }
                commented = choice >= 232;
            }
        }
    }
    out
}
