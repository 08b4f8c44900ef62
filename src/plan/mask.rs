//! What must not be read before the key is opened: names, makers' titles, prices, lots, claims.

use memchr::memmem::Finder;

use super::{Plan, TellingNames, telling_words};

/// Stands where something is hidden.
pub const HIDDEN: &str = "(hidden)";

/// Words that blind papers do not say.
#[derive(Debug)]
pub struct Mask {
    /// Longest first.
    words: Vec<Word>,
    /// Those of them that cannot be taken for a number or a common word, and as they stand inside a picture.
    telling: Vec<Word>,
    /// The same in names of files.
    names: TellingNames,
}

/// In lower case, and how it is found.
#[derive(Debug)]
struct Word {
    text: String,
    finder: Finder<'static>,
}

impl Word {
    fn new(text: String) -> Word {
        Word { finder: Finder::new(text.as_bytes()).into_owned(), text }
    }
}

impl Mask {
    /// Of a campaign whose key is closed.
    pub fn of(plan: &Plan) -> Mask {
        Mask::of_words(&telling_words(plan))
    }

    /// Of [`telling_words`].
    pub fn of_words(told: &[String]) -> Mask {
        let mut words: Vec<String> = told.iter().map(|word| word.to_ascii_lowercase()).collect();
        words.sort_by(|a, b| b.len().cmp(&a.len()).then_with(|| a.cmp(b)));
        words.dedup();
        Mask { names: TellingNames::of(told), ..Mask::new(words) }
    }

    fn new(words: Vec<String>) -> Mask {
        let common = |word: &str| word.chars().all(char::is_alphabetic);
        let telling =
            words.iter().filter(|word| word.len() > 2 && word.chars().any(char::is_alphabetic) && !common(word));
        let telling = telling.flat_map(|word| {
            let inside = Some(escaped(word)).filter(|inside| inside != word);
            inside.into_iter().chain([word.clone()])
        });
        let telling = telling.map(Word::new).collect();
        Mask { telling, words: words.into_iter().map(Word::new).collect(), names: TellingNames::default() }
    }

    /// What people wrote, without any of the words.
    pub fn free(&self, text: &str) -> String {
        without(text, self.words.iter())
    }

    /// A file by its name, or by the SHA-256 of its bytes where the name tells.
    pub fn file(&self, name: &str, hash: &str) -> String {
        self.names.hidden(name, || hash.to_owned()).unwrap_or_else(|| self.free(name))
    }

    /// What people wrote of a photograph: its file's name, and what stands beside it.
    pub fn photograph(&self, written: &str) -> String {
        if self.names.stand_in(written) { HIDDEN.to_owned() } else { self.free(written) }
    }

    /// What the tool wrote, and what the plan says of the bench: only what can't be taken for a number or a common word is looked
    /// for, or a model called `glass` would take the sight glass out of the rig.
    pub fn whole(&self, text: &str) -> String {
        without(text, self.telling.iter())
    }
}

/// As it stands inside a picture.
fn escaped(word: &str) -> String {
    word.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

/// A text without words.
fn without<'w>(text: &str, words: impl Iterator<Item = &'w Word>) -> String {
    let mut text = text.to_owned();
    // Lower case of ASCII only, so that places stay what they are.
    let mut lower = text.to_ascii_lowercase();
    for word in words {
        if word.finder.find(lower.as_bytes()).is_some() {
            text = without_one(&text, &lower, &word.text);
            lower = text.to_ascii_lowercase();
        }
    }
    text
}

fn without_one(text: &str, lower: &str, word: &str) -> String {
    let mut out = String::new();
    let mut from = 0;
    for (at, found) in lower.match_indices(word) {
        let end = at + found.len();
        let before = lower.get(..at).and_then(|before| before.chars().next_back());
        let after = lower.get(end..).and_then(|after| after.chars().next());
        let inside = |c: Option<char>| c.is_some_and(char::is_alphanumeric);
        if at < from || inside(before) || inside(after) {
            continue;
        }
        out.push_str(text.get(from..at).unwrap_or_default());
        out.push_str(HIDDEN);
        from = end;
    }
    out.push_str(text.get(from..).unwrap_or_default());
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_words_only() {
        let mask = Mask::new(vec!["model-a".to_owned(), "7".to_owned()]);
        assert_eq!(mask.free("Model-A and model-ab, lot 7 of 17"), "(hidden) and model-ab, lot (hidden) of 17");
        assert_eq!(mask.whole("model-a, lot 7"), "(hidden), lot 7");
        let mask = Mask::new(vec!["glass".to_owned()]);
        assert_eq!(mask.free("the glass one"), "the (hidden) one");
        assert_eq!(mask.whole("sight glass"), "sight glass");
    }
}
