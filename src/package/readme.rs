//! The page in plain words inside the package.

use std::fmt::Write;

use super::Given;
use super::table::Table;

pub(super) fn text(given: &Given<'_>, tables: &[Table]) -> String {
    let campaign = &given.plan.campaign;
    let mut page = format!("# {}\n\n", given.tellable(&campaign.title));
    // Writing into a String cannot fail.
    let _ = write_page(&mut page, given, tables);
    page
}

fn write_page(page: &mut String, given: &Given<'_>, tables: &[Table]) -> std::fmt::Result {
    let Given { plan, .. } = given;
    let campaign = &plan.campaign;
    match &campaign.invented {
        Some(words) => writeln!(page, "**Invented data.** {}\n", given.tellable(words))?,
        None => writeln!(page, "The plan does not say that anything in here is made up.\n")?,
    }
    writeln!(
        page,
        "This folder holds what a bench test of liquid filters recorded and found, in a form that anyone can open and check: \
         tables as text (`data/*.csv`, UTF-8, comma, decimal point){}, and `datapackage.json`, which says of every table and \
         column what it holds, in which unit, and how tables hang together. It follows the Data Package standard \
         (datapackage.org), so common tools read it.\n",
        if cfg!(feature = "parquet") { ", the same tables as Apache Parquet (`parquet/*.parquet`)" } else { "" }
    )?;
    writeln!(page, "- Plan: {} (SHA-256 of its meaning {})", plan.fingerprint.short, plan.fingerprint.full)?;
    writeln!(page, "- Made by: Loopleaf {}", env!("CARGO_PKG_VERSION"))?;
    writeln!(page, "- Licence: {}", given.licence.unwrap_or("not stated"))?;
    for person in campaign.people.values() {
        let role = person.role.as_deref().map(|role| format!(", {}", given.tellable(role))).unwrap_or_default();
        let interests = person.interests.as_deref().unwrap_or("interests not stated");
        writeln!(page, "- {}{role}; interests: {}", given.tellable(&person.name), given.tellable(interests))?;
    }
    if !given.tells_models() {
        writeln!(
            page,
            "\n**Which specimen is which model is still hidden.** Models, lots and purchases are left out of every table, and files \
             that could tell are not copied. Their SHA-256 in the table `inputs` is fixed now, so that they can be checked once \
             the key is opened."
        )?;
    }
    writeln!(
        page,
        "\nResults speak of the specimens that were tested, on this bench, with this oil and this dust. They are no promise about \
         other specimens of a model, and nothing here says that a published method was followed; the table `departures` says \
         where it was not.\n"
    )?;
    page.push_str(
        "## How to read a number\n\n\
         Results are in SI, and each column says its unit by its UCUM code (`\"unit\"` in `datapackage.json`); where units differ from \
         row to row, a column `unit` or `si_unit` says it. The table `units` says how each leads to SI. An empty cell says nothing: \
         it is never zero.\n\n\
         A result is `known` (value and 95 % interval), or only a bound (`at-least`, `at-most`; one-sided, 95 %), or `unsaid`, with the \
         reason. Its column `estimate` leads to its budget: every source of doubt, with sign, law and whether it stands in other \
         results too.\n\n\
         ## How to compute it again\n\n\
         1. Take the rows of `readings` with `used = true`. Each has its reading's path; `planned_readings` and `steps` say what it \
         measures, at which planned flow, with which instrument and limits (`accuracies`).\n\
         2. Oil: viscosity by ASTM D341, log₁₀ log₁₀ Z = A − B log₁₀ T by least squares through the measured points of `viscosities`, whose \
         description has Z; density by the line in `fluids`.\n\
         3. Restriction: ΔP = a μ Q + b ρ Q² by weighted least squares through the tare's readings, then through gross less tare. \
         Table `curves` holds a, b and their covariance, `restriction` the value at each planned flow.\n\
         4. Loading: dust given against the rise of pressure, the capacity in a straight line between two rounds; `ledger` adds up the \
         dust.\n\
         5. Removal: counts from `laboratory` by bottle (`bottles`), background taken off; share caught = 1 − after/before.\n\
         6. Intervals: 95 % of the sum of the errors in `budgets`, each with its law. What is `shared` cancels in a difference.\n\
         7. Differences between specimens: `comparisons`, with p-values adjusted for all pairs at once by Holm's steps.\n\n\
         In the source of the tool, `tests/recompute/recompute.py` does this from these tables alone, with numpy and scipy, and compares.\n\n\
         ## Tables\n\n\
         | table | rows | what |\n|---|---|---|\n",
    );
    for table in tables {
        writeln!(page, "| `{}` | {} | {} |", table.name, table.rows.len(), table.title)?;
    }
    Ok(())
}
