//! Flow sweeps: their readings, the fitted curves, and the element's own pressure at the planned flows.

use super::super::Given;
use super::super::table::{Table, link, number, row, text, truth, whole};
use super::outcome::{self, Estimates};

pub(super) fn tables(given: &Given<'_>, estimates: &mut Estimates) -> Vec<Table> {
    let key = &["run", "stage"];
    let mut sweeps = Table::new(
        "sweeps",
        "Flow sweeps",
        "One row for each sweep: what its results are brought to, and what is to be known of it.",
        key,
        vec![
            text("run", "Run", "").required(),
            text("stage", "Stage", "").required(),
            text("title", "Title", "In words"),
            text("fluid", "Fluid", "").required(),
            number("viscosity", "m2/s", "Viscosity", "That results are brought to").required(),
            number("density", "kg/m3", "Density", "That results are brought to").required(),
            truth(
                "net",
                "Net",
                "Whether the tare is taken off; otherwise pressures are of element, housing and adaptor together",
            ),
            number("knee_flow", "m3/s", "Flow at the knee", "The last one before a by-pass opens"),
            number("knee_pressure", "Pa", "Pressure at the knee", "As read"),
            text("remarks", "Remarks", "Sentences"),
        ],
    )
    .links(&[link(&["run"], "runs", &["run"]), link(&["fluid"], "fluids", &["fluid"])]);
    let mut points = Table::new(
        "sweep_points",
        "Readings of the sweeps",
        "Each differential pressure of a sweep with the flow and temperature beside it, and the steps to the element's own pressure at the reference viscosity.",
        &["run", "reading"],
        vec![
            text("run", "Run", "").required(),
            text("stage", "Stage", "").required(),
            text("reading", "Reading", "Path of the differential pressure").required(),
            truth("rising", "Rising", "Whether the flow went up"),
            number("planned_flow", "m3/s", "Planned flow", "").required().at_least(0.0),
            number("flow", "m3/s", "Flow", "As read").required().at_least(0.0),
            number("temperature", "K", "Temperature", "As read").required(),
            number("viscosity", "m2/s", "Viscosity", "Of the oil at that temperature").required().at_least(0.0),
            number("density", "kg/m3", "Density", "Of the oil at that temperature").required().at_least(0.0),
            number("gross", "Pa", "Gross", "Differential pressure as read").required(),
            number("tare", "Pa", "Tare", "Of the housing's curve there"),
            number("net", "Pa", "Net", "Gross less tare").required(),
            number("at_reference", "Pa", "At reference", "Net, brought to the planned flow and the reference viscosity").required(),
            truth("used", "Used", "Whether the fit uses it"),
        ],
    )
    .links(&[link(key, "sweeps", key)]);
    let mut curves = Table::new(
        "curves",
        "Fitted curves",
        "ΔP = a μ Q + b ρ Q² by weighted least squares; of the element (net) and of the housing (tare). Weights 1/s², s² = half_digit² + (1 % of what the curve expects, with the tare)²; fitted by 1/Q² first, then twice by what the fit before expects.",
        &["run", "stage", "of"],
        vec![
            text("run", "Run", "").required(),
            text("stage", "Stage", "").required(),
            text("of", "Of", "").required().one_of(&["element", "tare"]),
            number("a", "m-3", "a", "Pa for each Pa·s and m³/s").required(),
            number("b", "m-4", "b", "Pa for each kg/m³ and (m³/s)²").required(),
            number("var_a", "m-6", "Variance of a", "Scaled by the residuals").required().at_least(0.0),
            number("cov_ab", "m-7", "Covariance of a and b", "").required(),
            number("var_b", "m-8", "Variance of b", "").required().at_least(0.0),
            number("scatter", "Pa", "Scatter", "Standard deviation of the readings about the curve, at their middle weight").required().at_least(0.0),
            whole("freedom", "Degrees of freedom", "").required().at_least(1.0),
            number("from_flow", "m3/s", "From", "Lowest flow that is used").required(),
            number("to_flow", "m3/s", "To", "Highest flow that is used").required(),
        ],
    )
    .links(&[link(key, "sweeps", key)]);
    let mut fields = vec![
        text("run", "Run", "").required(),
        text("stage", "Stage", "").required(),
        number("flow", "m3/s", "Flow", "Planned").required().at_least(0.0),
        number("viscosity", "m2/s", "Viscosity", "Reference").required(),
    ];
    fields.extend(outcome::fields("Pa"));
    let mut at = Table::new(
        "restriction",
        "Restriction",
        "The element's own differential pressure at each planned flow and the reference viscosity, from its fitted curve.",
        &["run", "stage", "flow"],
        fields,
    )
    .links(&[link(key, "sweeps", key), link(&["estimate"], "estimates", &["estimate"])]);
    for run in &given.results.runs {
        for sweep in &run.restrictions {
            let here = || row![&run.code, &sweep.stage];
            let (knee_flow, knee_pressure) =
                (sweep.knee.as_ref().map(|knee| knee.flow), sweep.knee.as_ref().map(|knee| knee.pressure));
            let said = row![
                &sweep.title,
                &sweep.fluid,
                sweep.viscosity,
                sweep.density,
                sweep.net,
                knee_flow,
                knee_pressure,
                &sweep.remarks.join(" ")
            ];
            sweeps.rows.push([here(), said].concat());
            for point in &sweep.points {
                points.rows.push(row![
                    &run.code,
                    &sweep.stage,
                    &point.path,
                    point.rising,
                    point.planned,
                    point.flow,
                    point.temperature,
                    point.viscosity,
                    point.density,
                    point.gross,
                    point.tare,
                    point.net,
                    point.at_reference,
                    point.used
                ]);
            }
            for (of, fit) in [("element", &sweep.fit), ("tare", &sweep.tare)] {
                let Some(fit) = fit else { continue };
                let [aa, ab, bb] = fit.covariance;
                let freedom = fit.degrees_of_freedom;
                let (from, to) = fit.flows;
                let cells = row![of, fit.viscous, fit.inertial, aa, ab, bb, fit.scatter, freedom, from, to];
                curves.rows.push([here(), cells].concat());
            }
            for (place, (flow, outcome)) in sweep.at.iter().enumerate() {
                let key = format!("{}/{}/restriction/{}", run.code, sweep.stage, place + 1);
                let cells = estimates.cells(key, "Pa", outcome);
                at.rows.push([here(), row![*flow, sweep.viscosity], cells].concat());
            }
        }
    }
    vec![sweeps, points, curves, at]
}
