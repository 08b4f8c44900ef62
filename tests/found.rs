//! `docs/departures-found.md`: what the long runs of the tests put in, and what was found. Each of those tests has a section of
//! its own, which it writes anew with `LOOPLEAF_BLESS=1`.

use std::fs::OpenOptions;
use std::io::{Read as _, Seek as _, Write as _};

use crate::laboratory;
use crate::recorded::{inject, slips};
use crate::shipped::{bless, root};

pub(crate) const KINDS: &str = "Departures in the bench's records";
pub(crate) const SLIPS: &str = "Slips of eye and hand";
pub(crate) const LABORATORY: &str = "Departures in the laboratory's files";
pub(crate) const CONFORMING: &str = "Conforming records";
pub(crate) const CONFORMING_FILES: &str = "Conforming files of the laboratory";

/// In their order on the page.
const SECTIONS: [&str; 5] = [KINDS, SLIPS, LABORATORY, CONFORMING, CONFORMING_FILES];

const HEAD: &str = "# Departures put in, and departures found\n\nMade by the tests, in some minutes: `LOOPLEAF_EVERY_CHANGE=1 LOOPLEAF_BLESS=1 cargo nextest run \
                    recorded laboratory`. What is put in knows the plan and a made-up record, and nothing of the audit.\n";

/// Whether the long runs are asked for.
pub(crate) fn every_change() -> bool {
    std::env::var_os("LOOPLEAF_EVERY_CHANGE").is_some()
}

/// What each seed gives, in their order; a long run shares them among the processor's cores, and the answers are the same
/// whoever did which. Each hand has tools of its own.
pub(crate) fn each_seed<Tools, Answer: Send>(
    seeds: u64,
    tools: impl Fn() -> Tools + Sync,
    one: impl Fn(&mut Tools, u64) -> Answer + Sync,
) -> Vec<Answer> {
    let cores = std::thread::available_parallelism().map_or(1, |cores| cores.get().min(4));
    let hands = if every_change() { u64::try_from(cores).unwrap() } else { 1 };
    let (tools, one) = (&tools, &one);
    let mut all: Vec<(u64, Answer)> = std::thread::scope(|scope| {
        let work = move |hand: u64| {
            let mut tools = tools();
            let own = (1..=seeds).filter(|seed| seed % hands == hand);
            own.map(|seed| (seed, one(&mut tools, seed))).collect::<Vec<_>>()
        };
        let at_work: Vec<_> = (0..hands).map(|hand| scope.spawn(move || work(hand))).collect();
        at_work.into_iter().flat_map(|hand| hand.join().unwrap()).collect()
    });
    all.sort_by_key(|(seed, _)| *seed);
    all.into_iter().map(|(_, answer)| answer).collect()
}

/// The body of a section, without its heading.
fn body<'p>(page: &'p str, title: &str) -> Option<&'p str> {
    let (_, after) = page.split_once(&format!("\n## {title}\n\n"))?;
    Some(after.split("\n## ").next().unwrap_or(after))
}

/// Puts a section where it belongs, or looks whether it stands there as it should.
pub(crate) fn section(title: &str, text: &str) {
    let path = root().join("docs/departures-found.md");
    let mut file = OpenOptions::new().read(true).write(true).create(true).truncate(false).open(&path).unwrap();
    // Several tests write the page at one time.
    file.lock().unwrap();
    let mut page = String::new();
    file.read_to_string(&mut page).unwrap();
    if !bless() {
        assert_eq!(body(&page, title), Some(text), "LOOPLEAF_BLESS=1 writes it anew");
        return;
    }
    let mut new = HEAD.to_owned();
    for other in SECTIONS {
        let body = if other == title { Some(text) } else { body(&page, other) };
        if let Some(body) = body {
            new += &format!("\n## {other}\n\n{body}");
        }
    }
    file.rewind().unwrap();
    file.set_len(0).unwrap();
    file.write_all(new.as_bytes()).unwrap();
}

/// The page is made by long runs; that it tells of every kind is looked at each time.
#[test]
fn the_page_of_departures_found_tells_of_every_kind() {
    let page = std::fs::read_to_string(root().join("docs/departures-found.md")).unwrap();
    assert!(page.starts_with(HEAD), "the head is another one");
    let told = |title: &str, name: &str| {
        let row = body(&page, title).unwrap_or_default().lines().find(|line| line.starts_with(&format!("| {name} |")));
        assert!(
            row.is_some(),
            "`{title}` has no row for {name}: LOOPLEAF_EVERY_CHANGE=1 LOOPLEAF_BLESS=1 writes it anew"
        );
    };
    inject::kinds::KINDS.iter().for_each(|kind| told(KINDS, kind.name));
    slips::kinds().for_each(|name| told(SLIPS, name));
    laboratory::inject::kinds().iter().for_each(|(name, _)| told(LABORATORY, name));
    for title in [CONFORMING, CONFORMING_FILES] {
        assert!(body(&page, title).is_some(), "`{title}` is missing");
    }
}
