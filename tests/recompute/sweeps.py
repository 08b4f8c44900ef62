"""Oil, tare, restriction."""

import math

import numpy as np

import laws
from package import number

ROOT3 = math.sqrt(3)
# ASTM D341: Z = ν + 0.7 + C − D + E − F + G − H, ν in mm²/s.
D341 = [
    (1, -1.14883, -2.65868),
    (-1, -0.00381308, -12.5645),
    (1, 5.46491, -37.6289),
    (-1, 13.0458, -74.6851),
    (1, 37.4619, -192.643),
    (-1, 80.4945, -400.468),
]


class Oil:
    def __init__(self, package, fluid):
        points = [
            (float(row["temperature"]), float(row["viscosity"]) * 1e6)
            for row in package.tables["viscosities"]
            if row["fluid"] == fluid
        ]
        x = np.log10([t for t, _ in points])
        w = np.log10(np.log10([self.z(v) for _, v in points]))
        self.fall = -float(np.sum((x - x.mean()) * (w - w.mean())) / np.sum((x - x.mean()) ** 2))
        self.centre, self.level = float(x.mean()), float(w.mean())
        row = next(row for row in package.tables["fluids"] if row["fluid"] == fluid)
        self.weighed = row["density"] != ""
        self.rho = number(row["density"]) or 870.0
        self.at = number(row["density_temperature"]) or 288.15
        self.expansion = number(row["expansion"])
        if self.expansion is None:
            self.expansion = 0.65

    @staticmethod
    def z(v):
        return v + 0.7 + sum(sign * math.exp(a + b * v) for sign, a, b in D341)

    def viscosity(self, temperature):
        z = 10 ** (10 ** (self.level - self.fall * (math.log10(temperature) - self.centre)))
        v = z - 0.7
        for _ in range(60):
            slope = 1 + sum(sign * b * math.exp(a + b * v) for sign, a, b in D341)
            step = (self.z(v) - z) / slope
            v -= step
            if abs(step) < 1e-15 * v:
                break
        return v * 1e-6

    def density(self, temperature):
        return self.rho - self.expansion * (temperature - self.at)

    def slope(self, temperature):
        return math.log(self.viscosity(temperature + 0.05) / self.viscosity(temperature - 0.05)) / 0.1


class Sweep:
    """The usable readings of one sweep of one run."""

    def __init__(self, package, run, test, stage):
        mine = [row for row in package.planned[test] if row["stage"] == stage]
        steps = [step for (of, _), step in package.steps.items() if of == test and step["stage"] == stage]
        hold = next(step for step in steps if step["does"] in ("hold-viscosity", "hold-temperature"))
        self.fluid, self.temperature = hold["fluid"], float(hold["temperature"])
        self.oil = Oil(package, self.fluid)
        flows = {}
        for row in mine:
            step = package.step_of(test, row)
            if step["does"] == "set-flow":
                flows.setdefault(row["point"], (float(step["flow"]), step["rising"] == "true"))
        self.gauge = self.meter = self.probe = None
        self.points, self.planned = [], []
        for row in mine:
            if row["measures"] != "differential pressure" or row["point"] not in flows:
                continue
            if package.step_of(test, row)["does"] == "zero":
                continue
            self.gauge = self.gauge or row
            planned, rising = flows[row["point"]]
            self.planned.append(planned)

            def beside(what):
                near = [other for other in mine if other["measures"] == what]
                same = [other for other in near if other["point"] == row["point"]]
                earlier = [other for other in near if int(other["step"]) <= int(row["step"])]
                return same[0] if same else (earlier[-1] if earlier else None)

            flow, probe = beside("flow"), beside("temperature")
            self.meter, self.probe = self.meter or flow, self.probe or probe
            values = [package.used.get((run, other["reading"])) if other else None for other in (row, flow, probe)]
            if None in values or values[1] <= 0:
                continue
            gross, q, t = values
            self.points.append(
                {
                    "reading": row["reading"],
                    "planned": planned,
                    "rising": rising,
                    "gross": gross,
                    "net": gross,
                    "flow": q,
                    "temperature": t,
                    "nu": self.oil.viscosity(t),
                    "rho": self.oil.density(t),
                    "used": True,
                }
            )
        self.half_digit = float(self.gauge["half_digit"]) if self.gauge else None

    def fit(self):
        """Weighted least squares of net = a μ Q + b ρ Q²."""
        used = [p for p in self.points if p["used"]]
        if len(used) < 4 or max(p["flow"] for p in used) < 1.2 * min(p["flow"] for p in used):
            return None
        columns = np.array([[p["nu"] * p["rho"] * p["flow"], p["rho"] * p["flow"] ** 2] for p in used])
        net = np.array([p["net"] for p in used])
        tare = np.array([p["gross"] - p["net"] for p in used])
        # Weighed by 1/Q² first, and then twice by what the fit before expects.
        s = np.array([p["flow"] for p in used])
        for again in (True, True, False):
            x, y = columns / s[:, None], net / s
            # Columns of very different size: scaled to one before they are taken apart.
            size = np.sqrt((x**2).sum(axis=0))
            q, r = np.linalg.qr(x / size)
            coefficients = np.linalg.solve(r, q.T @ y) / size
            if again:
                s = np.maximum(np.hypot(self.half_digit, 0.01 * (columns @ coefficients + tare)), 1e-9)
        rest = y - x @ coefficients
        freedom = len(used) - 2
        variance = float(rest @ rest) / freedom
        inverse = np.linalg.inv(r)
        covariance = variance * (inverse @ inverse.T) / np.outer(size, size)
        return {
            "a": float(coefficients[0]),
            "b": float(coefficients[1]),
            "var_a": float(covariance[0, 0]),
            "cov_ab": float(covariance[0, 1]),
            "var_b": float(covariance[1, 1]),
            "scatter": math.sqrt(variance) * float(s.mean()),
            "freedom": freedom,
            "from_flow": min(p["flow"] for p in used),
            "to_flow": max(p["flow"] for p in used),
        }


def pressure(fit, flow, mu, rho):
    return fit["a"] * mu * flow + fit["b"] * rho * flow**2


def doubt(fit, flow, mu, rho):
    x, y = mu * flow, rho * flow**2
    return math.sqrt(max(x * x * fit["var_a"] + 2 * x * y * fit["cov_ab"] + y * y * fit["var_b"], 0))


def within(name, half, shared=None):
    return {"name": name, "u": half / ROOT3, "law": "rectangular", "freedom": None, "shared": shared}


def scatter(name, u, freedom):
    return {"name": name, "u": u, "law": "student", "freedom": float(freedom), "shared": None}


def sources(package, sweep, tare, fit, housing, flow, mu, rho):
    value = pressure(fit, flow, mu, rho)
    viscous = fit["a"] * mu * flow
    found = [scatter("scatter of the readings about the curve", doubt(fit, flow, mu, rho), fit["freedom"])]
    of_tare = pressure(housing, flow, mu, rho) if housing else 0.0
    gains = {}
    for which, reading, whence, sign in [(sweep, value + of_tare, "in the sweep", 1), (tare, of_tare, "in the tare", -1)]:
        name = which.gauge["instrument"] if which else ""
        limits = package.limits(name, reading)
        if limits is None:
            continue
        if limits[0] > 0:
            found.append(within(f"gauge {name} {whence}", limits[0]))
        if limits[1] > 0:
            gains[name] = gains.get(name, 0.0) + sign * limits[1]
    found += [within(f"gauge {name}, in proportion", gain, name) for name, gain in gains.items()]
    if housing:
        found.append(scatter("scatter of the tare about its curve", doubt(housing, flow, mu, rho), housing["freedom"]))
    if sweep.meter and (limits := package.limits(sweep.meter["instrument"], flow)):
        name = sweep.meter["instrument"]
        found.append(within(f"flow meter {name}", (viscous + 2 * (value - viscous)) * sum(limits) / flow, name))
    if sweep.probe and (limits := package.limits(sweep.probe["instrument"], sweep.temperature)):
        name = sweep.probe["instrument"]
        found.append(within(f"thermometer {name}", viscous * sweep.oil.slope(sweep.temperature) * sum(limits), name))
    return value, found


def budget(package, tally, table, key, ours):
    """Source by source, then the interval."""
    theirs = package.budgets.get(key, [])
    tally.same("budgets", f"{key}: names", sorted(s["name"] for s in ours), sorted(s["name"] for s in theirs))
    whole = laws.standard(ours)
    for own in ours:
        twin = next((s for s in theirs if s["name"] == own["name"]), None)
        if twin:
            # A part that is nothing beside the whole may be small by cancelling.
            tally.compare("budgets", f"{key}: {own['name']}", own["u"], twin["u"], 1e-9, 1e-3 * whole)
            tally.same("budgets", f"{key}: {own['name']}", (own["law"], own["shared"]), (twin["law"], twin["shared"]))
            tally.compare("budgets", f"{key}: freedom of {own['name']}", own["freedom"], twin["freedom"])
    tally.compare(f"{table}: standard uncertainty", key, whole, number(package.estimates[key]["standard"]))


def interval(package, tally, table, key, value, ours):
    row = package.estimates[key]
    half = laws.half_width(ours)
    tally.compare(f"{table}: half width of the interval", key, half, (float(row["high"]) - float(row["low"])) / 2, 1e-3)
    tally.compare(f"{table}: value", key, value, float(row["value"]))
    if sum(s["law"] == "student" for s in ours if s["u"]) > 1:
        tally.compare("intervals against the exact law of several t errors", key, laws.exact_half_width(ours), half, 0.5)


def recompute(package, tally):
    points = {(row["run"], row["reading"]): row for row in package.tables["sweep_points"]}
    curves = {(row["run"], row["stage"], row["of"]): row for row in package.tables["curves"]}
    tests = {row["run"]: row["test"] for row in package.tables["runs"]}
    for row in package.tables["sweeps"]:
        run, stage = row["run"], row["stage"]
        test = tests[run]
        sweep = Sweep(package, run, test, stage)
        mu_nu, rho = sweep.oil.viscosity(sweep.temperature), sweep.oil.density(sweep.temperature)
        tally.compare("sweeps", f"{run} {stage}: viscosity", mu_nu, float(row["viscosity"]))
        tally.compare("sweeps", f"{run} {stage}: density", rho, float(row["density"]))
        named = next(step["tare"] for (of, _), step in package.steps.items() if of == test and step["stage"] == stage)
        tare = Sweep(package, run, test, named) if named else None
        housing = tare.fit() if tare else None
        tally.same("sweeps", f"{run} {stage}: net", str(housing is not None).lower(), row["net"])
        for p in sweep.points:
            p["tare"] = pressure(housing, p["flow"], p["nu"] * p["rho"], p["rho"]) if housing else None
            p["net"] = p["gross"] - (p["tare"] or 0.0)
            if row["knee_flow"] and p["planned"] > float(row["knee_flow"]) * 1.001:
                p["used"] = False
        fit = sweep.fit()
        tally.same("sweep_points", f"{run} {stage}: which", sorted(p["reading"] for p in sweep.points),
                   sorted(r["reading"] for r in package.tables["sweep_points"] if (r["run"], r["stage"]) == (run, stage)))
        for p in sweep.points:
            theirs = points.get((run, p["reading"]))
            if not theirs:
                continue
            if fit:
                here = pressure(fit, p["flow"], p["nu"] * p["rho"], p["rho"])
                p["at_reference"] = p["net"] + pressure(fit, p["planned"], mu_nu * rho, rho) - here
            else:
                p["at_reference"] = p["net"]
            names = {"viscosity": "nu", "density": "rho", "flow": "flow", "gross": "gross", "tare": "tare", "net": "net",
                     "at_reference": "at_reference", "temperature": "temperature", "planned_flow": "planned"}
            for column, key in names.items():
                # A net pressure is a difference: relative to the gross one.
                scale = abs(p["gross"]) if key in ("net", "at_reference", "tare") else None
                tally.compare("sweep_points", f"{run} {p['reading']}: {column}", p[key], number(theirs[column]), 1e-9, scale)
        for of, ours in [("element", fit), ("tare", housing)]:
            theirs = curves.get((run, stage, of))
            tally.same("curves", f"{run} {stage} {of}: there", ours is not None, theirs is not None)
            if ours and theirs:
                for column, value in ours.items():
                    # b may be near zero: relative to what it leaves in doubt, else to itself.
                    scale = {"a": math.sqrt(ours["var_a"]), "b": math.sqrt(ours["var_b"]),
                             "cov_ab": math.sqrt(ours["var_a"] * ours["var_b"])}.get(column)
                    tally.compare("curves", f"{run} {stage} {of}: {column}", value, float(theirs[column]), 1e-9, scale)
        if not fit:
            continue
        for at in (r for r in package.tables["restriction"] if (r["run"], r["stage"]) == (run, stage)):
            if at["outcome"] != "known":
                continue
            value, ours = sources(package, sweep, tare if housing else None, fit, housing, float(at["flow"]), mu_nu * rho, rho)
            budget(package, tally, "restriction", at["estimate"], ours)
            interval(package, tally, "restriction", at["estimate"], value, ours)
