//! `loopleaf report`, `loopleaf open-key`: from plan and records to what is given out.

use std::io::Write;
use std::path::{Path, PathBuf};

use super::args::{self, PaperSize};
use super::campaign::{self, Campaign, Stopped};
use super::disk::read_bytes;
use super::papers::{problem, write};
use super::session::Session;
use super::sign::clock;
use super::{Exit, audit};
use crate::audit::evidence::{self, Standing};
use crate::audit::laboratory;
use crate::plan;
use crate::record::laboratory::LabFile;
use crate::record::{Column, Instant, Record, day_number};
use crate::report::{self, InputFile, KeyOpened, Page, Replaced};
use crate::results::{self, Results};

/// Where the opening of the key stands, in the campaign's folder.
pub(super) const KEY: &str = "results/key-opened.json";

/// A campaign with all that was recorded, judged and reduced.
pub(super) struct Reduced {
    pub(super) campaign: Campaign,
    pub(super) records: Vec<Record>,
    pub(super) laboratory: Vec<LabFile>,
    pub(super) standings: Vec<Standing>,
    pub(super) results: Results,
}

/// Reads everything that lies in a campaign's folder, and reduces it.
pub(super) fn reduce(path: &Path) -> Result<Reduced, Stopped> {
    let mut campaign = campaign::open(path, &[])?;
    let files = campaign::record_files(&campaign.folder)?;
    let (records, mut read) = campaign::read_records(&files, &mut campaign.sources)?;
    let files = campaign::laboratory_files(&campaign.folder)?;
    let (bottles, unclear) = campaign::read_laboratory(&files, &campaign.plan, &mut campaign.sources)?;
    read.extend(unclear);
    read.extend(laboratory(&campaign.plan, &records, &bottles));
    let loggers = campaign::logger_files(&campaign.folder)?;
    read.extend(campaign::read_loggers(&campaign.plan, &records, &loggers, &mut campaign.sources)?);
    // The same files say the same, wherever the folder lies and however it was typed.
    let typed = format!("`{}/", campaign.folder.display());
    for finding in read.iter_mut().filter(|finding| finding.message.contains(&typed)) {
        finding.message = finding.message.replace(&typed, "`");
    }
    let standings = audit::everything(&mut campaign, &records, read, &[])?;
    Ok(Reduced::of(campaign, records, bottles, standings))
}

impl Reduced {
    /// The results of what was read and judged.
    pub(super) fn of(
        campaign: Campaign,
        records: Vec<Record>,
        laboratory: Vec<LabFile>,
        standings: Vec<Standing>,
    ) -> Reduced {
        let results = results::results(&results::Input {
            plan: &campaign.plan,
            records: &records,
            laboratory: &laboratory,
            standings: &standings,
        });
        Reduced { campaign, records, laboratory, standings, results }
    }

    fn page(
        &self,
        wanted: &Wanted<'_>,
        date: &str,
        files: &[InputFile],
        key: Option<&KeyOpened>,
    ) -> Result<Page, Stopped> {
        let mut command = format!("loopleaf report . --date {date}");
        if let Some(replaced) = &wanted.replaces {
            command.push_str(&format!(" --replaces {} --because {}", quoted(replaced.id), quoted(replaced.why)));
        }
        report::page(&report::Input {
            plan: &self.campaign.plan,
            results: &self.results,
            standings: &self.standings,
            plan_findings: &self.campaign.findings,
            sources: &self.campaign.sources,
            files,
            key,
            date,
            command: &command,
            replaces: wanted.replaces,
        })
        .map_err(problem)
    }

    /// The report as it is now: of the date that is asked for; else of the last one's, where nothing else has changed; else of today.
    fn dated(&self, wanted: &Wanted<'_>, last: Option<&str>) -> Result<Page, Stopped> {
        let files = input_files(&self.campaign)?;
        let key = key_of(&self.campaign)?;
        if let Some(date) = wanted.date {
            return self.page(wanted, date, &files, key.as_ref());
        }
        if let Some((id, date)) = last.and_then(|last| last.split_once(' ')) {
            let page = self.page(wanted, date, &files, key.as_ref())?;
            if page.id == id {
                return Ok(page);
            }
        }
        self.page(wanted, &clock().date(), &files, key.as_ref())
    }
}

/// What was asked for besides the campaign.
#[derive(Default)]
pub(super) struct Wanted<'a> {
    pub(super) date: Option<&'a str>,
    pub(super) replaces: Option<Replaced<'a>>,
}

/// The files of a report, and whether each had to be written.
pub(super) struct Written {
    pub(super) files: Vec<(PathBuf, bool)>,
    pub(super) id: String,
}

/// Writes the report into a folder; what says the same already is left alone.
pub(super) fn write_report(
    reduced: &Reduced,
    wanted: &Wanted<'_>,
    out: &Path,
    paper: PaperSize,
) -> Result<Written, Stopped> {
    let kept = out.join(".report.seal");
    let old = std::fs::read_to_string(&kept).unwrap_or_default();
    let mut lines = old.lines();
    let mut next = || lines.next().unwrap_or_default();
    let (last, old_seal, old_pdf) = (next(), next(), next());
    let page = reduced.dated(wanted, Some(last).filter(|last| !last.is_empty()))?;
    let said = serde_json::to_vec(&page).map_err(problem)?;
    let seal =
        evidence::hash(&[format!("{} {paper:?} ", env!("CARGO_PKG_VERSION")).as_bytes(), said.as_slice()].concat());
    let pdf = || -> Result<Option<Pdf>, Stopped> {
        if cfg!(not(feature = "pdf")) {
            return Ok(None);
        }
        let target = out.join("report.pdf");
        let as_written = || std::fs::File::open(&target).and_then(evidence::hash_of).is_ok_and(|hash| hash == old_pdf);
        if old_seal == seal && as_written() {
            return Ok(Some(Pdf { file: target, hash: old_pdf.to_owned(), new: false }));
        }
        let bytes = typeset(&page, paper)?;
        write(&target, &bytes)?;
        Ok(Some(Pdf { file: target, hash: evidence::hash(&bytes), new: true }))
    };
    let (pdf, html) = rayon::join(pdf, || web_page(&page, out));
    let (html, pdf) = (html?, pdf?);
    let line = format!("{} {}\n{seal}\n{}\n", page.id, page.date, pdf.as_ref().map_or("", |pdf| &pdf.hash));
    let files = std::iter::once(html).chain(pdf.map(|pdf| (pdf.file, pdf.new))).collect();
    if line != old {
        write(&kept, line.as_bytes())?;
    }
    Ok(Written { files, id: page.id })
}

/// A report on paper, as it lies on the disk.
struct Pdf {
    file: PathBuf,
    /// SHA-256.
    hash: String,
    new: bool,
}

/// Writes the page for a browser, unless it says the same already.
fn web_page(page: &Page, out: &Path) -> Result<(PathBuf, bool), Stopped> {
    let html = report::html(page).map_err(problem)?;
    let target = out.join("report.html");
    let same = std::fs::read(&target).is_ok_and(|old| old == html.as_bytes());
    if !same {
        write(&target, html.as_bytes())?;
    }
    Ok((target, !same))
}

#[cfg(feature = "pdf")]
fn typeset(page: &Page, paper: PaperSize) -> Result<Vec<u8>, Stopped> {
    let paper = match paper {
        PaperSize::A4 => crate::typeset::Paper::A4,
        PaperSize::Letter => crate::typeset::Paper::Letter,
    };
    report::pdf(page, paper).map_err(problem)
}

#[cfg(not(feature = "pdf"))]
fn typeset(_page: &Page, _paper: PaperSize) -> Result<Vec<u8>, Stopped> {
    Err(Stopped::Problem("this loopleaf was built without PDF".to_owned()))
}

pub(super) fn run(options: &args::Report, session: &mut Session<'_>) -> Result<Exit, Stopped> {
    if let Some(date) = options.date.as_ref().filter(|date| day_number(date).is_none()) {
        return Err(format!("`{date}` is no date; write it as YYYY-MM-DD").into());
    }
    let reduced = reduce(&options.campaign)?;
    let open = report::open_findings(&reduced.standings, &reduced.campaign.sources);
    if options.publish && reduced.records.is_empty() {
        return Err("nothing is recorded: there is nothing to publish".to_owned().into());
    }
    if options.publish && !open.is_empty() {
        let _sent = writeln!(
            session.err,
            "not published: {} without an answer; answer them in `records/answers.csv`",
            if open.len() == 1 {
                "1 critical finding is".to_owned()
            } else {
                format!("{} critical findings are", open.len())
            }
        );
        for one in &open {
            let _sent = writeln!(session.err, "  {one}");
        }
        let out = options.output.clone().unwrap_or_else(|| reduced.campaign.folder.join("loopleaf-out"));
        if out.join("report.html").is_file() {
            let _sent =
                writeln!(session.err, "the report in `{}` is an earlier one and was left as it is", out.display());
        }
        return Ok(Exit::Errors);
    }
    let replaces = options.replaces.as_deref().zip(options.because.as_deref());
    if let Some((id, why)) = replaces {
        replaceable(id, why)?;
    }
    let wanted = Wanted { date: options.date.as_deref(), replaces: replaces.map(|(id, why)| Replaced { id, why }) };
    let hidden = reduced.campaign.plan.campaign.blind && key_of(&reduced.campaign)?.is_none();
    if options.json {
        let shown = if hidden {
            let _sent = writeln!(
                session.err,
                "models are hidden: names and what packages promise are left out until the key is opened"
            );
            report::without_names(&reduced.campaign.plan, &reduced.results).map_err(problem)?
        } else {
            serde_json::to_value(&reduced.results).map_err(problem)?
        };
        session.say(&serde_json::to_string_pretty(&shown).map_err(problem)?)?;
    } else if options.plain {
        session.say(report::text(&reduced.dated(&wanted, None)?).trim_end())?;
    } else {
        let out = options.output.clone().unwrap_or_else(|| reduced.campaign.folder.join("loopleaf-out"));
        session.working("writing the report");
        let (written, package) = rayon::join(
            || write_report(&reduced, &wanted, &out, options.paper),
            || super::package::of_campaign(&reduced, &out.join("package")),
        );
        let (written, package) = (written?, package?);
        for (file, new) in &written.files {
            let state = if *new { "" } else { " (already up to date)" };
            session.say(&format!("report {}: {}{state}", written.id, file.display()))?;
        }
        session.say(&format!("data package: {}", package.display()))?;
        if !open.is_empty() {
            let what = if open.len() == 1 { "finding is" } else { "findings are" };
            session.say(&format!("a draft: {} critical {what} open", open.len()))?;
        }
        if hidden {
            session.say("models are hidden: `loopleaf open-key` opens the key when the results are worked out")?;
        }
    }
    let open: Vec<_> =
        reduced.standings.iter().filter(|standing| standing.answer.is_none()).map(|s| s.finding.clone()).collect();
    Ok(Exit::of(&reduced.campaign.findings).max(Exit::of(&open)))
}

pub(super) fn open_key(options: &args::OpenKey, session: &mut Session<'_>) -> Result<Exit, Stopped> {
    let at = options.at.clone().unwrap_or_else(|| clock().text());
    let reduced = reduce(&options.campaign)?;
    let campaign = &reduced.campaign.plan.campaign;
    if !campaign.blind {
        return Err(format!("`{}` hides no models: there is no key to open", campaign.name).into());
    }
    if let Some(key) = key_of(&reduced.campaign)? {
        session
            .say(&format!("already opened by {} at {}; what was written then stands", key.opened_by, key.opened_at))?;
        return Ok(Exit::Fine);
    }
    let opened = opening(campaign, &options.by, &at)?;
    if reduced.records.is_empty() {
        return Err("nothing is recorded yet: the key stays closed until there are results".to_owned().into());
    }
    let open = report::open_findings(&reduced.standings, &reduced.campaign.sources);
    if !open.is_empty() {
        let _sent = writeln!(
            session.err,
            "the key stays closed: {} critical without an answer; what is answered after it is opened is answered with the models known",
            if open.len() == 1 { "1 finding is".to_owned() } else { format!("{} findings are", open.len()) }
        );
        for one in &open {
            let _sent = writeln!(session.err, "  {one}");
        }
        return Ok(Exit::Errors);
    }
    let Some(last) = last_recorded(&reduced.records) else {
        return Err("no reading has a time that can be read: when the last one was taken is not known, and the key stays closed until it is"
            .to_owned()
            .into());
    };
    if opened.seconds + FARTHEST_EAST < last.seconds {
        return Err(format!(
            "`{at}` is before the last reading, of {}: then nothing would have been hidden while it was taken",
            last.text()
        )
        .into());
    }
    let files = input_files(&reduced.campaign)?;
    let key = KeyOpened::new(&reduced.campaign.plan, &reduced.results, &files, &options.by, &at).map_err(problem)?;
    let target = reduced.campaign.folder.join(KEY);
    let text = serde_json::to_string_pretty(&key).map_err(problem)?;
    written_once(&target, format!("{text}\n").as_bytes())?;
    session.say(&format!("key opened by {} at {at}: {}", key.opened_by, target.display()))?;
    session.say(&format!("results at that moment: SHA-256 {}", key.results_sha256))?;
    Ok(Exit::Fine)
}

/// Seconds by which a bench's clock may be ahead of UTC.
const FARTHEST_EAST: i64 = 14 * 3600;

fn last_recorded(records: &[Record]) -> Option<Instant> {
    let rows = records.iter().flat_map(|record| &record.rows);
    rows.filter_map(|row| Instant::parse(row.text(Column::Time))).max_by_key(|time| time.seconds)
}

/// Whether this can be the number of an earlier report, and what changed since.
fn replaceable(id: &str, why: &str) -> Result<(), Stopped> {
    let four = |part: &str| part.len() == 4 && part.chars().all(|c| c.is_ascii_hexdigit());
    let parts = id.strip_prefix("LR-").and_then(|rest| rest.split_once('-'));
    if !parts.is_some_and(|(first, rest)| four(first) && four(rest)) {
        return Err(format!(
            "`{id}` is no report's number; copy it from the head of the earlier one, such as LR-2D81-3466"
        )
        .into());
    }
    if why.trim().is_empty() || why.contains(|c: char| c.is_control() || c == '`') {
        return Err("say after `--because` what changed, in plain words without back-quotes".to_owned().into());
    }
    Ok(())
}

/// A text as a shell takes it, whatever stands in it.
fn quoted(text: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.' | ':');
    if !text.is_empty() && text.chars().all(plain) {
        return text.to_owned();
    }
    format!("'{}'", text.replace('\'', "'\\''"))
}

/// Writes a file that must not be there yet.
fn written_once(target: &Path, bytes: &[u8]) -> Result<(), Stopped> {
    let failed = |e: std::io::Error| Stopped::Problem(format!("`{}` cannot be written: {e}", target.display()));
    if let Some(folder) = target.parent() {
        std::fs::create_dir_all(folder).map_err(failed)?;
    }
    let mut file = std::fs::OpenOptions::new().write(true).create_new(true).open(target).map_err(failed)?;
    file.write_all(bytes).map_err(failed)
}

/// The opening of the key, where it is opened.
pub(super) fn key_of(campaign: &Campaign) -> Result<Option<KeyOpened>, Stopped> {
    let path = campaign.folder.join(KEY);
    if !path.is_file() {
        return Ok(None);
    }
    let shown = path.display().to_string();
    let bytes = read_bytes(&path).map_err(|e| format!("`{shown}`: {e}"))?;
    let key: KeyOpened = serde_json::from_slice(&bytes)
        .map_err(|e| format!("`{shown}` is not as it was written when the key was opened: {e}"))?;
    let plan = &campaign.plan.campaign;
    if key.campaign != plan.name {
        return Err(format!("`{shown}` is of campaign `{}`", key.campaign).into());
    }
    opening(plan, &key.opened_by, &key.opened_at)
        .map_err(|why| format!("`{shown}` is not as it was written when the key was opened: {why}"))?;
    Ok(Some(key))
}

/// When a key is opened, by whom and when being what they can be.
fn opening(campaign: &plan::Campaign, by: &str, at: &str) -> Result<Instant, String> {
    let Some(opened) = Instant::parse(at) else {
        return Err(format!("`{at}` is no time; write it as YYYY-MM-DD hh:mm:ss"));
    };
    if opened > clock() {
        return Err(format!("`{at}` is still to come (it is {} in UTC)", clock().text()));
    }
    if !campaign.people.is_empty() && !campaign.people.contains_key(by) {
        return Err(format!("`{by}` is none of the campaign's people"));
    }
    Ok(opened)
}

/// Every file that a report follows from, with its hash.
pub(super) fn input_files(campaign: &Campaign) -> Result<Vec<InputFile>, Stopped> {
    let folder = &campaign.folder;
    let mut files = Vec::new();
    let mut add = |path: &Path, what: &'static str| -> Result<(), Stopped> {
        let hash =
            std::fs::File::open(path).and_then(evidence::hash_of).map_err(|e| format!("`{}`: {e}", path.display()))?;
        files.push(InputFile { name: from_folder(folder, path), what, hash });
        Ok(())
    };
    for (_, source) in campaign.sources.iter().filter(|(_, source)| source.name.ends_with(".leaf")) {
        add(Path::new(&source.name), "plan")?;
    }
    let of = |inside: &str, kinds: &[&str]| campaign::files_in(folder, inside, kinds);
    for (inside, kinds, what) in [
        ("records", ["csv", "xlsx"].as_slice(), "record"),
        ("records/second", &["csv", "xlsx"], "second typing"),
        ("records/photographs", &["jpg", "jpeg", "png", "heic", "webp", "tif", "tiff"], "photograph"),
        ("laboratory", &["csv", "xlsx"], "laboratory"),
        ("logger", &["csv", "parquet"], "logger"),
    ] {
        for file in of(inside, kinds)? {
            add(&file, what)?;
        }
    }
    for (name, what) in [("records/answers.csv", "answers"), ("records/seals.txt", "seals"), (KEY, "key")] {
        let path = folder.join(name);
        if path.is_file() {
            add(&path, what)?;
        }
    }
    Ok(files)
}

/// A file's name as seen from a folder, with `/` between its parts, whatever was typed.
fn from_folder(folder: &Path, file: &Path) -> String {
    let whole = |path: &Path| {
        let path = if path.as_os_str().is_empty() { Path::new(".") } else { path };
        std::fs::canonicalize(path).unwrap_or_else(|_| path.to_owned())
    };
    let (folder, file) = (whole(folder), whole(file));
    let (here, there): (Vec<_>, Vec<_>) = (folder.components().collect(), file.components().collect());
    let shared = here.iter().zip(&there).take_while(|(a, b)| a == b).count();
    let up = std::iter::repeat_n("..".to_owned(), here.len() - shared);
    let down = there.iter().skip(shared).map(|part| part.as_os_str().to_string_lossy().into_owned());
    up.chain(down).collect::<Vec<_>>().join("/")
}
