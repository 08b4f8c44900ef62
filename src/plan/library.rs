//! Every declared name, whatever file it stands in.

use indexmap::IndexMap;

use super::change::Changes;
use super::load::Loaded;
use super::read::Notes;
use crate::diagnostic::{Code, Diagnostic};
use crate::source::{SourceId, Span};
use crate::syntax::tree::{Part, Statement};

/// What a declaration declares.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Sort {
    Fluid,
    Dust,
    Instrument,
    Rig,
    Laboratory,
    Protocol,
    Rules,
    Campaign,
}

impl Sort {
    const ALL: [Sort; 8] = [
        Sort::Fluid,
        Sort::Dust,
        Sort::Instrument,
        Sort::Rig,
        Sort::Laboratory,
        Sort::Protocol,
        Sort::Rules,
        Sort::Campaign,
    ];

    pub(crate) fn words(self) -> &'static str {
        match self {
            Sort::Fluid => "fluid",
            Sort::Dust => "dust",
            Sort::Instrument => "instrument",
            Sort::Rig => "rig",
            Sort::Laboratory => "laboratory",
            Sort::Protocol => "protocol",
            Sort::Rules => "rules",
            Sort::Campaign => "campaign",
        }
    }

    /// With its article: `a fluid`, `an instrument`.
    pub(crate) fn one(self) -> String {
        match self {
            Sort::Instrument => "an instrument".to_owned(),
            Sort::Rules => "a pack of rules".to_owned(),
            other => format!("a {}", other.words()),
        }
    }

    /// What one of them is called in a sentence.
    pub(crate) fn called(self) -> &'static str {
        match self {
            Sort::Rules => "pack of rules",
            other => other.words(),
        }
    }

    pub(crate) fn from_words(words: &str) -> Option<Sort> {
        Self::ALL.into_iter().find(|s| s.words() == words)
    }
}

#[derive(Debug)]
pub(crate) struct Declaration<'t> {
    pub(crate) sort: Sort,
    pub(crate) name: String,
    pub(crate) title: String,
    pub(crate) source: SourceId,
    pub(crate) name_span: Span,
    pub(crate) statement: &'t Statement,
}

#[derive(Debug, Default)]
pub(crate) struct Library<'t> {
    declarations: IndexMap<String, Declaration<'t>>,
    /// Values to be read instead of written ones.
    pub(crate) changes: Changes<'t>,
}

impl<'t> Library<'t> {
    pub(crate) fn gather(loaded: &'t Loaded, notes: &Notes) -> Self {
        let mut library = Library::default();
        for tree in &loaded.trees {
            for statement in &tree.statements {
                let Some(sort) = Sort::from_words(statement.key()) else { continue };
                let (Some(Part::New(name)), Some(Part::Text(title))) =
                    (statement.part("name"), statement.part("title"))
                else {
                    continue;
                };
                let declaration = Declaration {
                    sort,
                    name: name.text.clone(),
                    title: title.text.clone(),
                    source: tree.source,
                    name_span: name.span,
                    statement,
                };
                library.add(declaration, notes);
            }
        }
        library.look_alikes(notes);
        library
    }

    fn add(&mut self, declaration: Declaration<'t>, notes: &Notes) {
        if let Some(first) = self.declarations.get(&declaration.name) {
            notes.add(
                Diagnostic::new(Code::DuplicateName, format!("`{}` is declared twice", declaration.name))
                    .at(declaration.source, declaration.name_span, "declared again here")
                    .also(first.source, first.name_span, "declared here already")
                    .help("give one of them another name"),
            );
            return;
        }
        self.declarations.insert(declaration.name.clone(), declaration);
    }

    /// `dp-O1` beside `dp-01`: on an oily sheet they are the same.
    fn look_alikes(&self, notes: &Notes) {
        let mut plain: IndexMap<String, &Declaration<'_>> = IndexMap::new();
        for declaration in self.declarations.values() {
            match plain.get(&look_alike(&declaration.name)) {
                Some(other) => notes.add(
                    Diagnostic::new(
                        Code::LookAlikeNames,
                        format!("`{}` and `{}` look the same on paper", other.name, declaration.name),
                    )
                    .at(declaration.source, declaration.name_span, "this name")
                    .also(other.source, other.name_span, "and this one")
                    .help("rename one so that they differ in more than O and 0, or I, l and 1"),
                ),
                None => {
                    plain.insert(look_alike(&declaration.name), declaration);
                }
            }
        }
    }

    pub(crate) fn of(&self, sort: Sort) -> impl Iterator<Item = &Declaration<'t>> {
        self.declarations.values().filter(move |d| d.sort == sort)
    }

    /// How many of each sort are declared.
    pub(crate) fn in_words(&self) -> String {
        let plural = |sort: Sort, n: usize| match (sort, n) {
            (_, 1) => sort.called().to_owned(),
            (Sort::Dust | Sort::Fluid | Sort::Instrument | Sort::Rig | Sort::Protocol | Sort::Campaign, _) => {
                format!("{}s", sort.words())
            }
            (Sort::Laboratory, _) => "laboratories".to_owned(),
            (Sort::Rules, _) => "packs of rules".to_owned(),
        };
        let counts: Vec<String> = Sort::ALL
            .into_iter()
            .map(|sort| (sort, self.of(sort).count()))
            .filter(|(_, n)| *n > 0)
            .map(|(sort, n)| format!("{n} {}", plural(sort, n)))
            .collect();
        if counts.is_empty() { "nothing declared".to_owned() } else { counts.join(", ") }
    }

    pub(crate) fn get(&self, name: &str) -> Option<&Declaration<'t>> {
        self.declarations.get(name)
    }
}

/// A name with the letters that are mistaken for digits made one.
pub(crate) fn look_alike(name: &str) -> String {
    name.to_lowercase()
        .chars()
        .map(|c| match c {
            'o' => '0',
            'i' | 'l' => '1',
            's' => '5',
            other => other,
        })
        .collect()
}
