"""Dust given against differential pressure: rounds, capacity, where the dust went."""

import math

import numpy as np

import sweeps
from package import number
from sweeps import Oil, within

VISCOUS = 0.75


def factor(m, q):
    """What a clean element's pressure is brought by, three quarters of it viscous."""
    return VISCOUS * m * q + (1 - VISCOUS) * q * q


def recompute(package, tally):
    tests = {row["run"]: row["test"] for row in package.tables["runs"]}
    for row in package.tables["capacity"]:
        Loading(package, row["run"], tests[row["run"]]).compare(tally, row)


class Loading:
    def __init__(self, package, run, test):
        self.package, self.run, self.test = package, run, test
        self.rows = package.planned[test]
        loops = {}
        for row in package.tables["parameters"]:
            if row["scope"] == "doses" and row["owner"].split("/", 1)[0] == test:
                loops.setdefault(row["owner"].split("/", 1)[1], {})[row["name"]] = row
        last = max(loops.values(), key=lambda loop: float(loop["terminal"]["si"]))
        self.terminal = float(last["terminal"]["si"])
        said = lambda loop, name: loop[name]["written"] if name in loop else None
        self.alike = {
            path for path, loop in loops.items() if all(said(loop, n) == said(last, n) for n in ("reading", "baseline"))
        }
        self.reading, baseline = said(last, "reading"), said(last, "baseline")
        self.nominal()
        self.follow(baseline)

    def value(self, row):
        return self.package.used.get((self.run, row["reading"]))

    def step(self, row):
        return self.package.step_of(self.test, row)

    def nominal(self):
        rounds = [s for (of, _), s in self.package.steps.items() if of == self.test and s["round"]]
        flows = [float(s["flow"]) for s in rounds if s["does"] == "hold-flow" and s["flow"]]
        oils = [(s["fluid"], float(s["viscosity"])) for s in rounds if s["does"] == "hold-viscosity"]
        self.flow = flows[-1] if flows else None
        self.oil = (Oil(self.package, oils[-1][0]), oils[-1][1]) if oils else None

    def ratios(self, place):
        """m = μ/μ₀ and q = Q/Q₀ of the last flow and temperature before a place, of its stage and round."""
        here, found = self.step(self.rows[place]), {}
        for what in ("flow", "temperature"):
            for other in reversed(self.rows[:place]):
                there = self.step(other)
                same = (there["stage"], there["loop"], there["round"]) == (here["stage"], here["loop"], here["round"])
                if other["measures"] == what and same and (other["low"] or other["high"]):
                    found[what] = self.value(other)
                    break
        if self.oil is None or self.flow is None or found.get("flow") is None or found.get("temperature") is None:
            return None
        m, q = self.oil[0].viscosity(found["temperature"]) / self.oil[1], found["flow"] / self.flow
        return (m, q) if 0.5 < m < 2 and 0.5 < q < 2 else None

    def follow(self, baseline):
        names = [row["reading"] for row in self.rows]
        self.clean = 0.0
        if baseline:
            place = names.index(baseline) if baseline in names else [n.rsplit("/")[-1] for n in names].index(baseline.rsplit("/")[-1])
            p, ratios = self.value(self.rows[place]), self.ratios(place)
            self.clean = None if p is None else p / (factor(*ratios) if ratios else 1.0)
        self.points, self.doses, self.left, self.lost = [], [], [], False
        self.balance = self.gauge = None
        mass = 0.0
        filled = [i for i, row in enumerate(self.rows) if (self.run, row["reading"]) in self.package.recorded]
        for place, row in enumerate(self.rows):
            step = self.step(row)
            if step["does"] == "dose" and row["measures"] == "mass":
                self.balance = self.balance or row
                given, weighed = bool(row["low"] or row["high"]), self.value(row)
                there = (self.run, row["reading"]) in self.package.recorded
                if weighed is not None:
                    mass += weighed if given else -weighed
                    (self.doses if given else self.left).append(weighed)
                elif given and there:
                    self.lost = True
            if step["loop"] not in self.alike or row["reading"].rsplit("/")[-1] != self.reading:
                continue
            self.gauge = self.gauge or row
            gross = self.value(row)
            if gross is None or self.clean is None or self.lost:
                continue
            m, q = self.ratios(place) or (1.0, 1.0)
            rise = (gross - self.clean * factor(m, q)) / (m * q)
            self.points.append({"reading": row["reading"], "mass": mass, "gross": gross, "rise": rise, "pressure": self.clean + rise})
        self.filled = filled

    def weighing(self, mass, doses):
        """Each weighing by difference rounds twice, three times where what is left in the boat is weighed too."""
        name = self.balance["instrument"]
        instrument = self.package.instruments[name]
        times = 3 if self.left else 2
        last_digit = float(instrument["resolution"]) * math.sqrt(times * doses / 12)
        found = [{"name": f"last digit of balance {name}", "u": last_digit, "law": "normal", "freedom": None, "shared": None}]
        limits = self.package.limits(name, mass / doses if doses else mass)
        return found + [within(f"balance {name}", sum(limits) * doses, name)]

    def scatter(self, place):
        end = min(place + 3, len(self.points))
        near = [p for p in self.points[max(end - 9, 0):end] if p["rise"] > 0]
        if len(near) < 5:
            return None
        x = np.array([p["mass"] for p in near])
        y = np.log([p["rise"] for p in near])
        x = x / x.mean() - 1
        rest = y - np.polyval(np.polyfit(x, y, 2), x)
        return math.sqrt(float(rest @ rest) / (len(near) - 3)), len(near) - 3

    def capacity(self):
        """Value, sources, dust before and after; None where the package must not know one either."""
        reached = next((i for i, p in enumerate(self.points) if p["rise"] >= self.terminal), None)
        place = reached
        if place is None:
            last = len(self.points) - 1
            if last < 1 or self.points[last]["rise"] < 0.96 * self.terminal:
                return None
            place = last
        before = self.points[place - 1] if place else {"mass": 0.0, "rise": 0.0}
        after = self.points[place]
        dose, step = after["mass"] - before["mass"], after["rise"] - before["rise"]
        if dose <= 0 or step <= 0:
            return None
        part = (self.terminal - before["rise"]) / step
        value = before["mass"] + part * dose
        between = (before["mass"], after["mass"]) if reached is not None else None
        share = self.scatter(place)
        if share is None:
            return value, None, between
        found = [
            sweeps.scatter(
                "scatter of the differential pressures",
                dose * math.hypot((1 - part) * before["rise"], part * after["rise"]) * share[0] / step,
                share[1],
            )
        ]
        if before["rise"] > 0:
            by_log = math.log(self.terminal / before["rise"]) / math.log(after["rise"] / before["rise"])
            found.append(within("the curve between two rounds", dose * abs(by_log - part) / 2))
        name = self.gauge["instrument"]
        if limits := self.package.limits(name, self.terminal + self.clean):
            found.append(within(f"gauge {name}", dose * sum(limits) / step))
        return value, found + self.weighing(value, place + 1), between

    def compare(self, tally, row):
        run, package = self.run, self.package
        tally.compare("capacity", f"{run}: terminal rise", self.terminal, float(row["terminal_rise"]))
        tally.compare("capacity", f"{run}: clean pressure", self.clean, number(row["baseline"]))
        theirs = [point for point in package.tables["loading_points"] if point["run"] == run]
        tally.same("loading_points", f"{run}: which", [p["reading"] for p in self.points], [p["reading"] for p in theirs])
        for place, (own, their) in enumerate(zip(self.points, theirs)):
            for column in ("mass", "gross", "pressure", "rise"):
                scale = abs(own["gross"]) if column in ("pressure", "rise") else None
                tally.compare("loading_points", f"{run} {own['reading']}: {column}", own[column], float(their[column]), 1e-9, scale)
            doubt = math.sqrt(sum(s["u"] ** 2 for s in self.weighing(own["mass"], place + 1)))
            tally.compare("loading_points", f"{run} {own['reading']}: doubt", doubt, float(their["mass_standard"]))
        found = self.capacity()
        tally.same("capacity", f"{run}: known", found is not None and not (found[0] and self.lost and not found), row["outcome"] == "known")
        if found and row["outcome"] == "known":
            value, sources, between = found
            for column, own in zip(("mass_before", "mass_after"), between or (None, None)):
                tally.compare("capacity", f"{run}: {column}", own, number(row[column]))
            if sources:
                sweeps.budget(package, tally, "capacity", row["estimate"], sources)
                sweeps.interval(package, tally, "capacity", row["estimate"], value, sources)
        self.ledger(tally)

    def ledger(self, tally):
        package, run = self.package, self.run
        lines = {row["what"].split(" ")[0]: row for row in package.tables["ledger"] if row["run"] == run}
        tally.compare("ledger", f"{run}: weighed out", sum(self.doses), float(lines["weighed"]["mass"]))
        doubt = math.sqrt(sum(s["u"] ** 2 for s in self.weighing(sum(self.doses), len(self.doses)))) if self.doses else 0.0
        tally.compare("ledger", f"{run}: its doubt", doubt, float(lines["weighed"]["standard"]))
        if "left" in lines:
            tally.compare("ledger", f"{run}: left in the boat", -sum(self.left), float(lines["left"]["mass"]))
        drawn = -float(lines["taken"]["mass"]) if "taken" in lines else 0.0
        sums = {row["what"]: row for row in package.tables["ledger_sums"] if row["run"] == run}
        given = sum(self.doses) - sum(self.left)
        if sums["given"]["outcome"] == "known":
            ours = self.weighing(sum(self.doses), len(self.doses))
            sweeps.budget(package, tally, "ledger_sums", sums["given"]["estimate"], ours)
            sweeps.interval(package, tally, "ledger_sums", sums["given"]["estimate"], given, ours)
        if sums["given"]["outcome"] == "known":
            drawn_doubt = float(lines["taken"]["standard"]) if "taken" in lines else 0.0
            most = float(package.estimates[sums["given"]["estimate"]]["high"]) - max(drawn - 2 * drawn_doubt, 0.0)
            tally.same("ledger_sums", f"{run}: retained is a bound", sums["retained"]["outcome"], "at-most")
            tally.compare("ledger_sums", f"{run}: retained", most, float(sums["retained"]["high"]))
        weighed = [row for row in self.rows if self.step(row)["does"] == "weigh" and row["measures"] == "mass"]
        if sums["gain"]["outcome"] == "known":
            gain = self.value(weighed[-1]) - self.value(weighed[0])
            tally.compare("ledger_sums", f"{run}: gain", gain, float(sums["gain"]["value"]), 1e-9, self.value(weighed[0]))
            if sums["closure"]["outcome"] == "known":
                closure = given - drawn - gain
                tally.compare("ledger_sums", f"{run}: closure", closure, float(sums["closure"]["value"]), 1e-9, given)
