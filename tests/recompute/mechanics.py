"""By-pass opening, leakage, bubble point, torque."""

import math

import laws
import sweeps
from package import number
from sweeps import scatter, within

G = 9.80665


def recompute(package, tally):
    tests = {row["run"]: row["test"] for row in package.tables["runs"]}
    for row in package.tables["mechanics"]:
        run, test = row["run"], tests[row["run"]]
        stage, _, name = row["key"].partition("/")
        mine = [r for r in package.planned[test] if r["stage"] == stage]
        theirs = [r for r in package.tables["mechanics_values"] if (r["run"], r["key"]) == (run, row["key"])]
        for value in theirs:
            tally.compare("mechanics_values", f"{run} {value['reading']}", package.used.get((run, value["reading"])), float(value["si"]))
        kinds = {"bypass-flow": by_pass, "anti-drain": repeats, "bubble-point": bubbles, "burst": repeats}
        does = "torque" if name else next(d for d in kinds if any(package.step_of(test, r)["does"] == d for r in mine))
        own = [r for r in mine if (r["measures"] == "torque" and r["reading"].rsplit("/")[-1] == name) if does == "torque"]
        own = own or [r for r in mine if package.step_of(test, r)["does"] == does]
        if row["outcome"] == "known":
            found = kinds.get(does, repeats)(package, run, test, mine, own)
            key = row["estimate"]
            if found is None:
                tally.same("mechanics", f"{run} {row['key']}: known", False, True)
                continue
            value, sources = found
            sweeps.budget(package, tally, "mechanics", key, sources)
            tally.compare("mechanics: value", key, value, float(row["value"]), 1e-9, sum(abs(s["u"]) for s in sources))
            # The lower end may be cut at nothing.
            half = laws.half_width(sources)
            tally.compare("mechanics: half width", key, half, float(row["high"]) - value, 1e-3)


def of_reading(package, row, value):
    name = row["instrument"]
    limits = package.limits(name, value)
    found = [within(name, sum(limits), name)] if limits and sum(limits) > 0 else []
    return found + [within(f"last digit of {name}", float(row["half_digit"]))]


def repeats(package, run, test, mine, own):
    own = [row for row in own if row["wants"] == "number"]
    values = [v for v in (package.used.get((run, row["reading"])) for row in own) if v is not None]
    if not values:
        return None
    mean = sum(values) / len(values)
    sources = of_reading(package, own[0], mean)
    if len(values) > 1:
        u = math.sqrt(sum((v - mean) ** 2 for v in values) / (len(values) - 1) / len(values))
        sources += [scatter("scatter of the repeats", u, len(values) - 1)] if u > 0 else []
    return mean, sources


def bubbles(package, run, test, mine, own):
    found = repeats(package, run, test, mine, own)
    step = package.step_of(test, own[0])
    fluid = next(row for row in package.tables["fluids"] if row["fluid"] == step["fluid"])
    if found is None or not fluid["density"]:
        return found
    head = float(fluid["density"]) * G * float(step["depth"])
    return found[0] - head, found[1] + [within("depth of immersion", 0.1 * head)]


def by_pass(package, run, test, mine, own):
    points, unread, gauge, meter, leak = [], False, None, None, None
    groups = []
    for row in own:
        step = package.step_of(test, row)
        leak = leak or float(step["leak"])
        if row["point"] in groups:
            continue
        groups.append(row["point"])
        near = [r for r in mine if r["point"] == row["point"]]
        dp = next((r for r in near if r["measures"] == "differential pressure"), None)
        flow = next((r for r in near if r["measures"] == "flow"), None)
        if dp is None:
            continue
        gauge, meter = gauge or dp, meter or flow
        pressure = package.used.get((run, dp["reading"]))
        read = package.used.get((run, flow["reading"])) if flow else None
        if pressure is not None:
            unread = unread or read is None
            points.append((read if read is not None else float(step["flow"]), pressure))
    points.sort()
    limits = package.limits(meter["instrument"], leak) if meter and not unread else None
    doubt = sum(limits) if limits else 0.05 * leak
    place = next((i for i, (flow, _) in enumerate(points) if flow >= leak - min(doubt, 0.02 * leak)), None)
    if place is None:
        return None
    low, high = (points[place - 1], points[place]) if place > 0 else (points[0], points[1])
    slope = (high[1] - low[1]) / (high[0] - low[0])
    pressure = low[1] + slope * (leak - low[0])
    share = min(max((leak - low[0]) / (high[0] - low[0]), 0.0), 1.0)
    name = meter["instrument"] if meter else ""
    sources = of_reading(package, gauge, pressure) + [within(f"flow {name}", slope * doubt, name)]
    opened = [point for point in points if point[0] >= leak - min(doubt, 0.02 * leak)]
    squares = []
    for (x0, y0), (x1, y1), (x2, y2) in zip(opened, opened[1:], opened[2:]):
        if x0 < x1 < x2:
            off = y0 + (y2 - y0) * (x1 - x0) / (x2 - x0) - y1
            squares.append(off**2 / (1 + ((x2 - x1) ** 2 + (x1 - x0) ** 2) / (x2 - x0) ** 2))
    if len(squares) >= 4:
        u = math.sqrt(sum(squares) / len(squares) * ((1 - share) ** 2 + share**2))
        sources.append(scatter("scatter of single readings about a smooth curve", u, len(squares) * 18 / 35))
    between = abs(high[1] - low[1]) / 2 * min(4 * share * (1 - share), 1.0)
    return pressure, sources + ([within("the step between two flows", between)] if between > 0 else [])
