"""A data package read back, and a tally of what was compared with it."""

import csv
import math
import pathlib


def number(cell):
    return float(cell) if cell != "" else None


class Package:
    """Tables by name: rows as dictionaries of texts."""

    def __init__(self, folder):
        self.folder = pathlib.Path(folder)
        self.tables = {}
        for path in sorted((self.folder / "data").glob("*.csv")):
            with open(path, newline="", encoding="utf-8") as file:
                self.tables[path.stem] = list(csv.DictReader(file))
        self.planned, self.steps, self.used, self.times = {}, {}, {}, {}
        for row in self.tables["steps"]:
            self.steps[row["test"], int(row["step"])] = row
        for row in self.tables["planned_readings"]:
            self.planned.setdefault(row["test"], []).append(row)
        for row in self.tables["readings"]:
            if row["used"] == "true" and row["si"] != "":
                self.used[row["run"], row["reading"]] = float(row["si"])
            if row["counts"] == "true":
                self.times[row["run"], row["reading"]] = row["time"]
        self.recorded = {(row["run"], row["reading"]) for row in self.tables["readings"] if row["value"] != ""}
        self.instruments = {row["instrument"]: row for row in self.tables["instruments"]}
        self.terms = {}
        for row in self.tables["accuracies"]:
            self.terms.setdefault(row["instrument"], []).append((row["kind"], float(row["amount"])))
        self.budgets = {}
        for row in self.tables["budgets"]:
            self.budgets.setdefault(row["estimate"], []).append(
                {
                    "name": row["name"],
                    "u": float(row["contribution"]),
                    "law": row["law"],
                    "freedom": number(row["freedom"]),
                    "shared": row["shared"] or None,
                }
            )
        self.estimates = {row["estimate"]: row for row in self.tables["estimates"]}
        self.rules = {row["name"]: number(row["si"]) for row in self.tables["parameters"] if row["owner"] == "rules"}

    def step_of(self, test, reading):
        return self.steps[test, int(reading["step"])]

    def limits(self, instrument, value):
        """Half widths of an instrument's specification at a value: what zeroing leaves anew, and what grows with the reading."""
        if instrument not in self.terms:
            return None
        low, high = number(self.instruments[instrument]["low"]), number(self.instruments[instrument]["high"])
        span = high - (low or 0.0)
        parts = []
        for kind, amount in self.terms[instrument]:
            offset = {"of-span": amount * span, "absolute": amount}.get(kind, 0.0)
            gain = amount * abs(value) if kind == "of-reading" else 0.0
            parts.append((offset, gain))
        return max(parts, key=sum)


class Tally:
    """What was compared, by table: how many numbers, the worst deviation, what departs."""

    def __init__(self):
        self.lines, self.wrong = {}, []

    def compare(self, table, where, ours, theirs, tolerance=1e-9, scale=None):
        """Relative to the larger of the two, or to a scale where a difference may be near zero."""
        line = self.lines.setdefault(table, [0, 0.0, tolerance])
        line[0] += 1
        line[2] = max(line[2], tolerance)
        if ours is None or theirs is None:
            off = 0.0 if ours is None and theirs is None else math.inf
        else:
            size = max(abs(ours), abs(theirs), scale or 0.0)
            off = abs(ours - theirs) / size if size > 0 else 0.0
        line[1] = max(line[1], off)
        if not off <= tolerance:
            self.wrong.append(f"{table}, {where}: {ours} recomputed, {theirs} in the package, off by {off:.2e}")

    def same(self, table, where, ours, theirs):
        line = self.lines.setdefault(table, [0, 0.0, 0.0])
        line[0] += 1
        if ours != theirs:
            line[1] = math.inf
            self.wrong.append(f"{table}, {where}: {ours} recomputed, {theirs} in the package")
