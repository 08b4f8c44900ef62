//! What must not be read before the key is opened: names, makers' titles, prices, lots, claims.

use memchr::memmem::Finder;

use crate::plan::Plan;

/// Stands where something is hidden.
pub(super) const HIDDEN: &str = "(hidden)";

/// Words that a blind report does not say.
#[derive(Debug)]
pub(super) struct Mask {
    /// Longest first.
    words: Vec<Word>,
    /// Those of them that cannot be taken for a number or a common word, and as they stand inside a picture.
    telling: Vec<Word>,
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
    pub(super) fn of(plan: &Plan) -> Mask {
        let mut words: Vec<String> = Vec::new();
        for model in plan.campaign.models.values() {
            words.extend([model.name.clone(), model.title.clone()]);
            // People write the title without what stands in brackets behind it.
            words.extend(model.title.rsplit_once(" (").map(|(title, _)| title.to_owned()));
            words.extend(model.price.as_ref().map(ToString::to_string));
            words.extend(model.claims.iter().filter_map(|claim| claim.text.clone()));
        }
        for specimen in plan.campaign.specimens.values() {
            words.extend(specimen.lot.clone());
            words.extend(specimen.bought.clone());
        }
        let codes = &plan.campaign.specimens;
        let mut words: Vec<String> = words
            .into_iter()
            .filter(|word| !codes.contains_key(word))
            .map(|word| word.trim().to_ascii_lowercase())
            .collect();
        words.retain(|word| !word.is_empty());
        words.sort_by(|a, b| b.len().cmp(&a.len()).then_with(|| a.cmp(b)));
        words.dedup();
        Mask::new(words)
    }

    fn new(words: Vec<String>) -> Mask {
        let common = |word: &str| word.chars().all(char::is_alphabetic);
        let telling =
            words.iter().filter(|word| word.len() > 2 && word.chars().any(char::is_alphabetic) && !common(word));
        let telling = telling.flat_map(|word| {
            let inside = Some(escaped(word)).filter(|inside| inside != word);
            inside.into_iter().chain([word.clone()])
        });
        Mask { telling: telling.map(Word::new).collect(), words: words.into_iter().map(Word::new).collect() }
    }

    /// What people wrote, without any of the words.
    pub(super) fn free(&self, text: &str) -> String {
        without(text, self.words.iter())
    }

    /// What the tool wrote, and what the plan says of the bench: only what can't be taken for a number or a common word is looked
    /// for, or a model called `glass` would take the sight glass out of the rig.
    pub(super) fn whole(&self, text: &str) -> String {
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
