//! `datapackage.json`: the Data Package standard, version 2.0 (datapackage.org), with a Table Schema for each table.

use serde_json::{Map, Value, json};

use super::table::{Field, Table};
use super::{Given, README};
use crate::audit::evidence::hash;

pub(super) const NAME: &str = "datapackage.json";
const PROFILE: &str = "https://datapackage.org/profiles/2.0/datapackage.json";

/// The Table Schema of a table. A field that has one unit in all its rows says it as `unit`, by its UCUM code.
pub(super) fn schema(table: &Table) -> Value {
    let links: Vec<Value> = table
        .links
        .iter()
        .map(|link| json!({ "fields": link.fields, "reference": { "resource": link.table, "fields": link.to } }))
        .collect();
    let mut schema = Map::new();
    schema.insert("fields".to_owned(), table.fields.iter().map(field).collect());
    if !table.key.is_empty() {
        schema.insert("primaryKey".to_owned(), json!(table.key));
    }
    if !links.is_empty() {
        schema.insert("foreignKeys".to_owned(), links.into());
    }
    schema.insert("missingValues".to_owned(), json!([""]));
    Value::Object(schema)
}

fn field(field: &Field) -> Value {
    let mut said = Map::new();
    said.insert("name".to_owned(), field.name.into());
    said.insert("type".to_owned(), field.sort.word().into());
    said.insert("title".to_owned(), field.title.into());
    said.insert("description".to_owned(), field.description.into());
    if let Some(unit) = field.unit {
        said.insert("unit".to_owned(), unit.into());
    }
    let mut constraints = Map::new();
    if field.required {
        constraints.insert("required".to_owned(), true.into());
    }
    if let Some(least) = field.least {
        constraints.insert("minimum".to_owned(), least.into());
    }
    if let Some(most) = field.most {
        constraints.insert("maximum".to_owned(), most.into());
    }
    if !field.one_of.is_empty() {
        constraints.insert("enum".to_owned(), json!(field.one_of));
    }
    if !constraints.is_empty() {
        said.insert("constraints".to_owned(), constraints.into());
    }
    Value::Object(said)
}

/// A file of the package that is no table, or a table in another form.
pub(super) struct Other<'f> {
    pub(super) name: String,
    pub(super) path: &'f str,
    pub(super) title: String,
    pub(super) format: &'f str,
    pub(super) mediatype: &'f str,
    pub(super) bytes: &'f [u8],
}

/// The descriptor. `texts` are the tables' CSV files, in the order of the tables.
pub(super) fn json(given: &Given<'_>, tables: &[Table], texts: &[(String, Vec<u8>)], others: &[Other<'_>]) -> Vec<u8> {
    let campaign = &given.plan.campaign;
    let mut resources: Vec<Value> = Vec::new();
    for (table, (path, bytes)) in tables.iter().zip(texts) {
        resources.push(json!({
            "name": table.name,
            "type": "table",
            "title": table.title,
            "description": table.description,
            "path": path,
            "scheme": "file",
            "format": "csv",
            "mediatype": "text/csv",
            "encoding": "utf-8",
            "hash": format!("sha256:{}", hash(bytes)),
            "bytes": bytes.len(),
            "rows": table.rows.len(),
            "schema": schema(table),
        }));
    }
    for other in others {
        resources.push(json!({
            "name": other.name,
            "type": "file",
            "title": other.title,
            "path": other.path,
            "scheme": "file",
            "format": other.format,
            "mediatype": other.mediatype,
            "hash": format!("sha256:{}", hash(other.bytes)),
            "bytes": other.bytes.len(),
        }));
    }
    let people: Vec<Value> = campaign
        .people
        .values()
        .map(|person| {
            let mut said = Map::new();
            said.insert("title".to_owned(), given.tellable(&person.name).into());
            if let Some(role) = &person.role {
                said.insert("roles".to_owned(), json!([given.tellable(role)]));
            }
            Value::Object(said)
        })
        .collect();
    let mut package = Map::new();
    let mut say = |key: &str, value: Value| package.insert(key.to_owned(), value);
    say("$schema", PROFILE.into());
    say("name", name(&campaign.name).into());
    say("title", given.tellable(&campaign.title).into());
    let invented =
        campaign.invented.as_deref().map(|words| format!(" Invented: {}", given.tellable(words))).unwrap_or_default();
    say(
        "description",
        format!("Readings and results of a bench test of liquid filters; see {README}.{invented}").into(),
    );
    say("version", given.plan.fingerprint.short.as_str().into());
    say("fingerprint", given.plan.fingerprint.full.as_str().into());
    match given.licence {
        Some(licence) => say("licenses", json!([{ "name": name(licence), "title": licence }])),
        None => say("licence", "not stated".into()),
    };
    if !people.is_empty() {
        say("contributors", people.into());
    }
    say("resources", resources.into());
    let mut bytes = serde_json::to_vec_pretty(&Value::Object(package)).unwrap_or_default();
    bytes.push(b'\n');
    bytes
}

/// A name as the standard wants it: small letters, digits, `-`, `_`, `.`, `/`.
pub(super) fn name(text: &str) -> String {
    let plain = |c: char| if c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.' | '/') { c } else { '-' };
    text.chars().map(|c| plain(c.to_ascii_lowercase())).collect()
}
