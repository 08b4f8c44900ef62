//! What a report shows, in order: sections of sentences, lists, tables and pictures. HTML, PDF and text lay out the same page.

use serde::Serialize;

/// A report, ready to be laid out.
#[derive(Debug, Clone, Serialize)]
pub struct Page {
    /// The campaign's; where something is open, `Draft: not for publication` stands before it.
    pub title: String,
    /// Set where something keeps it from being published.
    pub draft: Option<Draft>,
    pub invented: Option<String>,
    /// The report's own number: another one for any other content.
    pub id: String,
    /// ISO date.
    pub date: String,
    /// Name of the campaign.
    pub campaign: String,
    /// As it is printed on every sheet of the plan.
    pub fingerprint: String,
    /// Whether models are still hidden.
    pub hidden: bool,
    pub sections: Vec<Section>,
}

/// Why it may not be published.
#[derive(Debug, Clone, Serialize)]
pub struct Draft {
    pub why: String,
    /// One for each open finding.
    pub open: Vec<String>,
}

#[derive(Debug, Clone, Serialize)]
pub struct Section {
    /// Its name in links.
    pub id: &'static str,
    pub title: String,
    pub parts: Vec<Part>,
}

/// A piece of a section.
#[derive(Debug, Clone, Serialize)]
#[serde(rename_all = "kebab-case", tag = "kind")]
pub enum Part {
    /// A heading inside a section.
    Heading {
        text: String,
    },
    Says {
        text: String,
    },
    /// What the reader is to see first.
    Stands {
        text: String,
    },
    List {
        items: Vec<String>,
    },
    /// Names and what they are.
    Facts {
        facts: Vec<(String, String)>,
    },
    Table(Table),
    /// SVG; it carries its own title and description.
    Picture {
        svg: String,
        caption: String,
    },
}

/// A table; a column's numbers are set to the right. The first cell of a row is its head.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Table {
    pub caption: String,
    pub head: Vec<Head>,
    pub rows: Vec<Row>,
    /// Below it: what marks in its cells mean.
    pub notes: Vec<String>,
}

#[derive(Debug, Clone, Serialize)]
pub struct Head {
    pub text: String,
    pub number: bool,
}

#[derive(Debug, Clone, Serialize)]
pub struct Row {
    pub cells: Vec<String>,
    /// Stands on little: shown in grey, and the words of the row say so.
    pub faint: bool,
}

impl Table {
    /// A table; a head that begins with `#` is one of numbers.
    pub(super) fn new(caption: impl Into<String>, head: &[&str]) -> Table {
        Table { caption: caption.into(), head: head.iter().map(|text| Head::new(text)).collect(), ..Table::default() }
    }

    /// The same with heads that are made.
    pub(super) fn of(caption: impl Into<String>, head: impl IntoIterator<Item = String>) -> Table {
        let head = head.into_iter().map(|text| Head::new(&text)).collect();
        Table { caption: caption.into(), head, ..Table::default() }
    }

    pub(super) fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        self.rows.push(Row { cells: cells.into_iter().collect(), faint: false });
    }

    pub(super) fn faint(&mut self, cells: impl IntoIterator<Item = String>) {
        self.rows.push(Row { cells: cells.into_iter().collect(), faint: true });
    }
}

impl Head {
    fn new(text: &str) -> Head {
        match text.strip_prefix('#') {
            Some(text) => Head { text: text.to_owned(), number: true },
            None => Head { text: text.to_owned(), number: false },
        }
    }
}

impl Section {
    pub(super) fn new(id: &'static str, title: &str) -> Section {
        Section { id, title: title.to_owned(), parts: Vec::new() }
    }

    pub(super) fn says(&mut self, text: impl Into<String>) {
        self.parts.push(Part::Says { text: text.into() });
    }

    pub(super) fn heading(&mut self, text: impl Into<String>) {
        self.parts.push(Part::Heading { text: text.into() });
    }

    pub(super) fn list(&mut self, items: Vec<String>) {
        if !items.is_empty() {
            self.parts.push(Part::List { items });
        }
    }

    pub(super) fn facts(&mut self, facts: Vec<(String, String)>) {
        let facts: Vec<_> = facts.into_iter().filter(|(_, what)| !what.is_empty()).collect();
        if !facts.is_empty() {
            self.parts.push(Part::Facts { facts });
        }
    }

    /// Nothing where it has no rows.
    pub(super) fn table(&mut self, table: Table) {
        if !table.rows.is_empty() {
            self.parts.push(Part::Table(table));
        }
    }

    pub(super) fn picture(&mut self, svg: Option<String>, caption: impl Into<String>) {
        if let Some(svg) = svg {
            self.parts.push(Part::Picture { svg, caption: caption.into() });
        }
    }
}

impl Page {
    /// Every text of the page that people read.
    pub(super) fn each(&mut self, change: &mut dyn FnMut(&mut String)) {
        change(&mut self.title);
        change(&mut self.campaign);
        if let Some(invented) = &mut self.invented {
            change(invented);
        }
        if let Some(draft) = &mut self.draft {
            change(&mut draft.why);
            draft.open.iter_mut().for_each(&mut *change);
        }
        for section in &mut self.sections {
            change(&mut section.title);
            section.parts.iter_mut().for_each(|part| part.each(change));
        }
    }
}

impl Part {
    fn each(&mut self, change: &mut dyn FnMut(&mut String)) {
        match self {
            Part::Heading { text } | Part::Says { text } | Part::Stands { text } => change(text),
            Part::List { items } => items.iter_mut().for_each(change),
            Part::Facts { facts } => facts.iter_mut().for_each(|(name, what)| {
                change(name);
                change(what);
            }),
            Part::Table(table) => {
                change(&mut table.caption);
                table.head.iter_mut().for_each(|head| change(&mut head.text));
                table.rows.iter_mut().flat_map(|row| &mut row.cells).for_each(&mut *change);
                table.notes.iter_mut().for_each(change);
            }
            Part::Picture { svg, caption } => {
                change(svg);
                change(caption);
            }
        }
    }
}
