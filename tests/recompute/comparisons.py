"""Results by specimen, differences, what could have been seen."""

import math
import re

import numpy as np

import laws
from package import number


def of_estimate(package, key):
    """Value, sources and interval of a known estimate of the package."""
    row = package.estimates[key]
    sources = [dict(s) for s in package.budgets.get(key, [])]
    return float(row["value"]), sources, (float(row["low"]), float(row["high"]))


def towards(value, sources, interval, upwards):
    """A lopsided doubt counts on the side on which the other result lies (Zou and Donner)."""
    below, above = value - interval[0], interval[1] - value
    half, other = (above, below) if upwards else (below, above)
    if abs(half - other) <= 0.05 * max(half, other):
        return sources
    even = laws.half_width(sources)
    # An end that stops at what can exist makes nothing surer.
    return [{**s, "u": s["u"] * half / even} for s in sources] if half > even > 0 else sources


def recompute(package, tally):
    entries = {}
    for row in package.tables["entries"]:
        entries[row["measurand"], row["specimen"]] = row
        run_level(package, tally, row)
    families, errors, resolutions = {}, {}, []
    for measurand in package.tables["measurands"]:
        key = measurand["measurand"]
        groups = {row["group"]: row for row in package.tables["groups"] if row["measurand"] == key}
        pairs = [row for row in package.tables["comparisons"] if row["measurand"] == key]
        one_each = all(len(group["members"].split()) == 1 for group in groups.values())
        found = []
        for row in pairs:
            where = f"{key}: {row['first']} less {row['second']}"
            theirs = of_estimate(package, row["estimate"])
            if one_each:
                first, second = (of_estimate(package, entries[key, groups[row[side]]["members"]]["estimate"]) for side in ("first", "second"))
                higher = first[0] >= second[0]
                sources = laws.less(towards(*first, not higher), towards(*second, higher))
                value = first[0] - second[0]
            else:
                # Groups of several specimens: from the budget that the package gives for the difference.
                value, sources = float(groups[row["first"]]["mean"]) - float(groups[row["second"]]["mean"]), theirs[1]
            size = max(abs(float(groups[row[side]]["mean"])) for side in ("first", "second"))
            tally.compare("comparisons: difference", where, value, float(row["difference"]), 1e-9, size)
            # A lopsided doubt is scaled by a half width that is convolved on a grid.
            tally.compare("comparisons: standard uncertainty", where, laws.standard(sources), float(row["standard"]), 1e-3)
            half = laws.half_width(sources)
            tally.compare("comparisons: half width", where, half, (float(row["high"]) - float(row["low"])) / 2, 1e-3)
            if sum(s["law"] == "student" for s in sources if s["u"]) > 1:
                tally.compare("intervals against the exact law of several t errors", where, laws.exact_half_width(sources), half, 0.5)
            found.append((where, row, value, theirs[1] if not one_each else sources))
            # The law of the difference itself, from the package's own budget: closed forms.
        what = re.search(r"Over (?:all (\d+) pairs|the one pair) of (.*?) together", measurand["basis"])
        error = re.search(r"no more than (?:(\d+) of (\d+) campaigns|one campaign of twenty)", measurand["basis"])
        if pairs:
            families.setdefault(what.group(2), []).extend(found)
            errors[what.group(2)] = int(error.group(1)) / int(error.group(2)) if error.group(1) else 0.05
        letters(tally, key, groups, pairs)
        if pairs and measurand["resolvable"]:
            order = sorted((float(row["standard"]), place) for place, row in enumerate(pairs))
            middle = pairs[order[len(order) // 2][1]]
            resolutions.append((what.group(2), key, middle, float(measurand["resolvable"])))
    for what, found in families.items():
        closed = [of_estimate(package, row["estimate"]) for _, row, _, _ in found]
        # The part of one in twenty that this family may err.
        each = errors[what] / len(found)
        raw = [laws.two_sided(value, sources) for value, sources, _ in closed]
        tally.same("measurands: size of the family", what, {r["basis"].count(f"all {len(found)} pairs of {what}") for r in
                   package.tables["measurands"] if what in r["basis"] and len(found) > 1} <= {1}, True)
        for (where, row, _, _), (value, sources, _), adjusted in zip(found, closed, laws.holm(raw)):
            # Tails far out are told apart only by their logarithm.
            theirs = float(row["p_value"])
            tally.compare("comparisons: p-values after Holm", where, adjusted, theirs, 1e-9, 1e-9)
            tally.same("comparisons: verdicts", where, str(adjusted < errors[what]).lower(), row["differs"])
            half = laws.reach(sources, each) * laws.standard(sources)
            tally.compare("comparisons: family intervals", where, value - half, float(row["family_low"]), 1e-9, half)
            tally.compare("comparisons: family intervals", where, value + half, float(row["family_high"]), 1e-9, half)
    for what, key, middle, theirs in resolutions:
        sources = of_estimate(package, middle["estimate"])[1]
        tally.compare("measurands: smallest difference seen", key, laws.resolvable(sources, errors[what] / len(families[what])), theirs, 2e-6)


def run_level(package, tally, row):
    """The mean of a specimen's runs, where each of them gave a number of its own."""
    where = f"{row['measurand']}: {row['specimen']}"
    runs = row["runs"].split()
    keys = [key for key in (result_of(package, run, row["measurand"]) for run in runs) if key]
    known = [key for key in keys if package.estimates[key]["outcome"] == "known"]
    aside = {r["run"] for r in package.tables["runs"] if r["set_aside"]}
    if row["outcome"] != "known" or not known or len(known) != len(keys) or aside & set(runs):
        return
    several = [of_estimate(package, key) for key in known]
    value = sum(one[0] for one in several) / len(several)
    tally.compare("entries: value", where, value, float(row["value"]))
    if len(several) == 1:
        tally.compare("entries: interval", where, several[0][2][0], float(row["low"]))
        tally.compare("entries: interval", where, several[0][2][1], float(row["high"]))
        return
    sources = laws.mean([one[1] for one in several])
    apart = any(
        abs(a[0] - b[0]) > laws.half_width(laws.less(a[1], b[1])) for i, a in enumerate(several) for b in several[i + 1:]
    )
    if apart:
        deviation = float(np.std([one[0] for one in several], ddof=1))
        sources.append({"name": "from run to run", "u": deviation / math.sqrt(len(several)), "law": "student",
                        "freedom": len(several) - 1.0, "shared": None})
    tally.compare("entries: standard uncertainty", where, laws.standard(sources), number(package.estimates[row["estimate"]]["standard"]))
    half = laws.half_width(sources)
    tally.compare("entries: half width", where, half, (float(row["high"]) - float(row["low"])) / 2, 1e-3)


def result_of(package, run, measurand):
    """The estimate of a run that a measurand takes: a sweep at its highest flow, the capacity, the share caught at a size."""
    rest = measurand.split("/", 1)[1]
    if rest == "capacity":
        return f"{run}/capacity" if f"{run}/capacity" in package.estimates else None
    if rest.startswith("capture at "):
        key = f"{run}/pooled/{rest.removeprefix('capture at ')}"
        return key if key in package.estimates else None
    mechanical = f"{run}/{rest}"
    if mechanical in package.estimates:
        return mechanical
    mine = [row for row in package.tables["restriction"] if (row["run"], row["stage"]) == (run, rest)]
    return max(mine, key=lambda row: float(row["flow"]))["estimate"] if mine else None


def letters(tally, key, groups, pairs):
    """Two groups share a letter just where they do not differ."""
    for row in pairs:
        first, second = (set(groups[row[side]]["letters"]) for side in ("first", "second"))
        if first and second:
            tally.same("groups: letters", f"{key}: {row['first']} and {row['second']}", not (first & second), row["differs"] == "true")
