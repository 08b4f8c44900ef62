"""The share caught by size, from the laboratory's counts.

D behind, less background, is (1 − E) U(E), where U sums what was before, brought to the counted volume and to the moment of its
partner: w e^(E k), k = b − a turnovers later. Particles from a size up are a mixture of classes which decay each by its own E; the
factor by which its ratio departs from a single class's is reckoned from the classes' own counts.
"""

import itertools
import math
from datetime import datetime

import laws
from package import number
from scipy import optimize, stats

NORMAL = 1.959964


def plain(label):
    return "".join(c for c in label.upper() if c.isalnum())


class Laboratory:
    """Particles seen and undiluted oil counted, by bottle and size."""

    def __init__(self, package):
        rows = {}
        for row in package.tables["laboratory"]:
            if row["used"] == "true":
                rows.setdefault((row["file"], row["line"]), []).append(row)
        self.by_label = {}
        for mine in rows.values():
            said = {row["holds"]: number(row["number"]) for row in mine if row["size"] == ""}
            dilution = max(said.get("dilution") or 1.0, 1.0)
            volume = said.get("counted volume")
            counts = {}
            for row in mine:
                if row["size"] and row["number"] and volume:
                    each = volume * (0.01 if "100" in row["unit"] else 1.0)
                    each /= dilution if row["dilution_applied"] == "true" else 1.0
                    counts[round(float(row["size"]) * 1e9)] = (math.floor(float(row["number"]) * each + 0.5), volume / dilution * 1e-6)
            self.by_label.setdefault(plain(mine[0]["bottle"]), []).append(counts)

    def at(self, label, size, twin):
        """Count, volume and bottles at a size for every row of a bottle, the last one first; with its twin where it has one."""
        key = round(size * 1e9)
        own = [row[key] for row in reversed(self.by_label.get(plain(label), [])) if key in row]
        twins = [row[key] for row in reversed(self.by_label.get(plain(label) + "T", [])) if key in row] if twin else []
        both = [(a[0] + b[0], a[1] + b[1], 2) for a, b in itertools.product(own, twins)]
        return both + [(count, volume, 1) for count, volume in own]


def jeffreys(count, tail=0.025):
    low = stats.chi2.ppf(tail, 2 * count + 1) / 2 if count > 0 else 0.0
    return low, stats.chi2.isf(tail, 2 * count + 1) / 2


class Curve:
    def __init__(self, terms):
        self.total = sum(w for w, _ in terms)
        self.terms = [(w / self.total, k) for w, k in terms] if self.total > 0 else []
        self.top = -20.0
        rises = lambda e: (1 - e) * self.later(e) - 1
        if self.terms and rises(-20.0) > 0:
            self.top = optimize.brentq(rises, -20.0, 1.0, xtol=1e-15)

    def later(self, e):
        own = [(w * math.exp(e * k), k) for w, k in self.terms]
        return sum(w * k for w, k in own) / sum(w for w, _ in own)

    def at(self, e):
        return math.log(1 - e) + math.log(sum(w * math.exp(e * k) for w, k in self.terms))

    def slope(self, e):
        """Of ln of the ratio over ln(1 − E)."""
        return max(1 - (1 - e) * self.later(e), 1e-3)

    def solve(self, ln_ratio):
        """The larger share that gives this ratio."""
        if ln_ratio > self.at(self.top):
            return None
        # In y = ln(1 − E), where the curve is nearly straight.
        high = math.log(1 - self.top)
        y = optimize.brentq(lambda y: self.at(-math.expm1(y)) - ln_ratio, -34.0, high, xtol=1e-15, rtol=1e-14)
        return -math.expm1(y)


def departs(classes, a, b):
    """ln of the factor by which the ratio of a mixture departs from a single class's; classes of E and particles at the beginning."""
    total = sum(n for _, n in classes)
    if total <= 0:
        return 0.0
    mean = sum(e * n for e, n in classes) / total
    behind = sum((1 - e) * n * math.exp(-e * a) for e, n in classes) / total
    left = sum(n * math.exp(-e * b) for e, n in classes) / total
    return min(max(math.log(behind / left) - math.log(1 - mean) - mean * (b - a), -0.7), 0.7)


def shape_factors(pairs, sizes, place, per):
    """For each pair: that ln from a size up, and how far it follows an error of ln D − ln U, by a step of a twentieth."""
    classes, most = [], 1 - 1e-6
    for nth in range(len(sizes) - 1, place - 1, -1):

        def net(pair, side, at):
            count, volume = pair["counts"][at][side]
            return count / volume - per[at][side]

        def of_class(pair, side):
            above = net(pair, side, sizes[nth + 1]) if nth + 1 < len(sizes) else 0.0
            return max(net(pair, side, sizes[nth]) - above, 0.0)

        before = [of_class(pair, 0) for pair in pairs]
        volumes = [pair["counts"][sizes[nth]][1][1] for pair in pairs]
        behind = sum(v * of_class(pair, 1) for v, pair in zip(volumes, pairs))
        curve = Curve([(b * v, pair["later"]) for b, v, pair in zip(before, volumes, pairs)])
        follows = 0.0
        if curve.total > 0:
            found = curve.solve(math.log(max(behind, 0.3) / curve.total))
            share = min(max(found if found is not None else curve.top, 0.0), 1 - 1e-9)
            if share < most:
                follows = -(1 - share) / max(curve.slope(share), 0.1)
            most = min(share, most)
        classes.append((most, before, follows))
    factors = []
    for i, pair in enumerate(pairs):

        def ln(step):
            shares = [min(max(e + follows * step, 0.0), 1 - 1e-9) for e, _, follows in classes]
            return departs([(e, own[1][i] * math.exp(e * pair["b"])) for e, own in zip(shares, classes)], pair["a"], pair["b"])

        factors.append((ln(0.0), (ln(0.05) - ln(0.0)) / 0.05))
    return factors


def recompute(package, tally):
    laboratory = Laboratory(package)
    for row in package.tables["removal"]:
        if row["design"] in ("mixed-batch", "continuous"):
            Removal(package, laboratory, row["run"], row["design"]).compare(tally)


class Removal:
    def __init__(self, package, laboratory, run, design):
        self.package, self.laboratory, self.run = package, laboratory, run
        self.decays = design == "mixed-batch"
        self.test = next(row["test"] for row in package.tables["runs"] if row["run"] == run)
        self.bottles = {row["bottle"]: row for row in package.tables["bottles"] if row["run"] == run}
        self.pairs = []
        for row in (row for row in package.tables["removal_pairs"] if row["run"] == run):
            when = [self.time(row[side]) for side in ("up", "down")]
            turnover, after = number(row["turnover"]), number(row["down_after"])
            pair = {"row": row, "turnover": turnover, "counts": {}, "bottles": {}, "later": 0.0, "a": 0.0, "b": 0.0, "known": False}
            if None not in when and turnover:
                apart = (when[0] - when[1]).total_seconds() / turnover
                if abs(apart) <= 20:
                    pair["known"], pair["later"] = True, apart
                    pair["a"] = min((after or 0.0) / turnover, 50.0)
                    pair["b"] = pair["a"] + apart
            if not self.decays:
                pair["later"] = 0.0
            self.pairs.append(pair)

    def time(self, label):
        written = self.package.times.get((self.run, self.bottles[label]["reading"]))
        return datetime.fromisoformat(written) if written else None

    def compare(self, tally):
        package, run = self.package, self.run
        sizes = {}
        for row in package.tables["removal_sizes"]:
            if row["run"] == run:
                sizes.setdefault(int(row["pair"]), []).append(row)
        per = {}
        for place, pair in enumerate(self.pairs, 1):
            for row in sizes.get(place, []):
                size, where = float(row["size"]), f"{run} pair {place} {row['size_written']}"
                up, down = int(row["up"]), int(row["down"])
                if float(row["up_volume"]) == 0 or float(row["down_volume"]) == 0:
                    continue
                pair["counts"][size] = ((up, float(row["up_volume"])), (down, float(row["down_volume"])))
                per[size] = tuple(float(row[f"{s}_background"]) / float(row[f"{s}_volume"]) for s in ("up", "down"))
                for side, label in (("up", pair["row"]["up"]), ("down", pair["row"]["down"])):
                    seen = self.laboratory.at(label, size, self.bottles[label]["twin"] == "true")
                    theirs = (int(row[side]), float(row[f"{side}_volume"]))
                    near = [s for s in seen if s[0] == theirs[0] and abs(s[1] / theirs[1] - 1) < 1e-9]
                    tally.same("removal_sizes: particles seen", f"{where} {side}", bool(near), True)
                    pair["bottles"][size, side] = near[0][2] if near else 1
        everything = sorted({size for pair in self.pairs for size in pair["counts"]})
        self.everything = everything
        for place, pair in enumerate(self.pairs, 1):
            for row in sizes.get(place, []):
                self.one(tally, "removal_sizes", [pair], row, per, f"{run} pair {place}")
        pooled = [row for row in package.tables["removal_pooled"] if row["run"] == run]
        # Pairs that differ at one size are not trusted at another.
        self.differ = any(self.apart(float(row["size"]), per) is not None for row in pooled)
        for row in pooled:
            self.one(tally, "removal_pooled", self.pairs, row, per, f"{run} all pairs")

    def one(self, tally, table, pairs, row, per, where):
        size, where = float(row["size"]), f"{where} {row['size_written']}"
        pairs = self.usable(pairs, size)
        if not pairs:
            return
        total = lambda side, what: sum(pair["counts"][size][side][what] for pair in pairs)
        tally.compare(f"{table}: counts", where, total(0, 0), int(row["up"]))
        tally.compare(f"{table}: counts", where, total(1, 0), int(row["down"]))
        for side, name in enumerate(("up", "down")):
            tally.compare(f"{table}: background", where, per[size][side] * total(side, 1), float(row[f"{name}_background"]))
        if row["outcome"] != "known":
            return
        parts, curve, net_down, ln_ratio, share = self.fit(pairs, size, per)
        tally.compare(f"{table}: share caught", where, 1 - share, 1 - float(row["value"]))
        by_counts = 1 - net_down / sum(p["net_up"] for p in parts)
        tally.compare(f"{table}: by counts alone", where, 1 - by_counts, 1 - float(row["by_counts"]))
        # A reader with nothing but the row must come to the same.
        factor = float(row["mixture"]) * math.exp(float(row["value"]) * float(row["turnovers"]))
        tally.compare(f"{table}: share caught, from its row alone", where, (1 - float(row["by_counts"])) / factor, 1 - float(row["value"]))
        if row["ratio_outcome"] == "known":
            tally.compare(f"{table}: β", where, 1 / (1 - share), float(row["ratio"]))
        self.interval(tally, table, where, row, parts, curve, share, ln_ratio, net_down, size, per)

    def fit(self, pairs, size, per):
        shapes = [(0.0, 0.0)] * len(pairs)
        if self.decays:
            shared = [s for s in self.everything if all(s in pair["counts"] for pair in pairs)]
            shapes = shape_factors(pairs, shared, shared.index(size), per)
        net_down = sum(c - per[size][1] * v for c, v in (pair["counts"][size][1] for pair in pairs))
        parts = []
        for pair, (shape, follows) in zip(pairs, shapes):
            (up, up_volume), (down, down_volume) = pair["counts"][size]
            net_up = max(up - per[size][0] * up_volume, 0.0) * down_volume / up_volume
            parts.append({"net_up": net_up, "k": pair["later"], "shape": shape, "follows": follows, "up": up, "down": down, "up_volume": up_volume,
                          "down_volume": down_volume, "turnover": pair["turnover"], "bottles": pair["bottles"]})
        curve = Curve([(p["net_up"] * math.exp(p["shape"]), p["k"]) for p in parts])
        if net_down <= 0 or curve.total <= 0:
            return parts, curve, net_down, None, None
        ln_ratio = math.log(net_down / curve.total)
        return parts, curve, net_down, ln_ratio, curve.solve(ln_ratio)

    def ground(self, size, side, per):
        """Count, volume and bottles of the clean oil: drawn with the specimen in place before any dust, else of the rig's blank, else
        of the other side."""
        steps = sorted((int(s["step"]), s) for (test, _), s in self.package.steps.items() if test == self.test)
        drawn = {row["reading"]: int(row["step"]) for row in self.package.planned[self.test]}
        # Dust of the conditioning goes to another filter, before this one is mounted.
        mount = min((number for number, s in steps if s["does"] == "mount"), default=0)
        first = min(number for number, s in steps if s["does"] == "dose" or (s["does"] == "inject" and number > mount))
        found = {}
        for bottle in self.bottles.values():
            at = drawn[bottle["reading"]]
            step = dict(steps)[at]
            if at >= first or step["does"] == "clean-up":
                continue
            counts = self.laboratory.at(bottle["bottle"], size, bottle["twin"] == "true")
            mounts = [s["does"] for number, s in steps if number < at and s["does"] in ("mount", "remove")]
            mounted = bool(mounts) and mounts[-1] == "mount"
            where = "blank" if step["blank"] else "own" if mounted else None
            if counts and where:
                found.setdefault((bottle["sits"], where), []).append(counts[0])
        own, other = ("upstream", "downstream") if side == 0 else ("downstream", "upstream")
        for sits in (own, other):
            pool = found.get((sits, "own")) or found.get((sits, "blank"))
            if pool:
                count, volume, bottles = (sum(one[i] for one in pool) for i in range(3))
                return (count, volume, bottles) if abs(count / volume - per) <= 1e-9 * max(per, 1.0) else None
        return None

    def usable(self, pairs, size):
        if self.decays and any(pair["known"] for pair in pairs):
            pairs = [pair for pair in pairs if pair["known"]]
        return [pair for pair in pairs if size in pair["counts"]]

    def apart(self, size, per, whatever=False):
        """Standard uncertainty of the net count behind from how the pairs scatter, where chi squared says that they do not agree."""
        pairs = self.usable(self.pairs, size)
        if len(pairs) < 2:
            return None
        parts, _, net_down, _, share = self.fit(pairs, size, per)
        if share is None:
            return None
        rule, moment = self.rule, math.hypot(self.rule("bottle-moment", 3.0), 0.5)
        lab, clean = rule("laboratory-scatter", 0.05), rule("background-scatter", 0.20)
        moves = any(p["k"] != 0 for p in parts)
        weights = [p["net_up"] * math.exp(share * p["k"] + p["shape"]) for p in parts]
        off, squares = [], 0.0
        for p, weight in zip(parts, weights):
            expected, ground = net_down * weight / sum(weights), per[size][1] * p["down_volume"]
            used = max(p["net_up"] * p["up_volume"] / p["down_volume"], 1.0)
            held, dirt = p["up"] / used, per[size][0] * p["up_volume"] / used
            variance = expected + ground + expected**2 * held / used
            variance += (lab * (expected + ground)) ** 2 / p["bottles"][size, "down"]
            variance += (lab * held * expected) ** 2 / p["bottles"][size, "up"]
            variance += (clean * ground) ** 2 + (clean * dirt * expected) ** 2
            if moves and p["turnover"]:
                variance += 2 * (expected * share * moment / p["turnover"]) ** 2 / 3
            off.append(p["down"] - ground - expected)
            squares += off[-1] ** 2 / max(variance, 1.0)
        if not whatever and squares <= stats.chi2.ppf(0.999, len(parts) - 1):
            return None
        return math.sqrt(sum(x * x for x in off) * len(off) / (len(off) - 1)) / net_down

    def rule(self, name, built_in):
        given = self.package.rules.get(name)
        return built_in if given is None else given

    def interval(self, tally, table, where, row, parts, curve, share, ln_ratio, net_down, size, per):
        ground = [self.ground(size, side, per[size][side]) for side in (0, 1)]
        tally.same(f"{table}: clean bottles found", where, None in ground, False)
        if None in ground:
            return
        weights = [p["down_volume"] / p["up_volume"] * math.exp(share * p["k"] + p["shape"]) for p in parts]
        up = sum(p["net_up"] * math.exp(share * p["k"] + p["shape"]) for p in parts)
        count, volume, bottles = ground[0]
        variance = sum(w * w * p["up"] for w, p in zip(weights, parts))
        variance += (sum(w * p["up_volume"] for w, p in zip(weights, parts)) / volume) ** 2 * count
        effective = up * up / variance
        seen, oil = sum(p["down"] for p in parts), sum(p["down_volume"] for p in parts)
        low, high = jeffreys(seen)
        count, volume, clean_down = ground[1]
        clean_low, clean_high = jeffreys(count)
        low = net_down - math.hypot(seen - low, oil / volume * (clean_high - count))
        high = net_down + math.hypot(high - seen, oil / volume * (count - clean_low))
        up_low, up_high = jeffreys(effective)
        behind = (math.log(net_down / max(low, 0.02 * net_down)), math.log(high / net_down))
        before = (math.log(effective / max(up_low, 0.02 * effective)), math.log(up_high / effective))
        below, above = math.hypot(behind[0], before[1]), math.hypot(behind[1], before[0])
        own = lambda p: p["net_up"] * math.exp(share * p["k"] + p["shape"]) / up
        # The shape is read off the same counts, so an error of theirs counts a little more than once.
        again = min(max(1 - sum(own(p) * p["follows"] for p in parts), 1.0), 2.0)
        to_share = (1 - share) / curve.slope(share) * again
        budget = self.package.budgets[row["estimate"]]
        theirs = {s["name"]: abs(s["u"]) / to_share for s in budget}
        # Counting, and the laboratory from bottle to bottle, of which the doubts are here; the others as the package has them.
        u = math.log(max(high, 1e-9) / max(low, 0.02 * net_down, 1e-9)) / 2 / NORMAL
        tally.compare(f"{table}: budget, counting", where, u, theirs["particles counted behind"], 1e-6)
        tally.compare(f"{table}: budget, counting", where, 1 / math.sqrt(effective), theirs["particles counted before"], 1e-9)
        rule = self.rule
        down = max(net_down, 1.0)
        squares = sum(
            (p["down"] / down) ** 2 / p["bottles"][size, "down"] + (p["up"] * w / up) ** 2 / p["bottles"][size, "up"]
            for p, w in zip(parts, weights)
        )
        of_down = [per[size][1] * p["down_volume"] / down for p in parts]
        of_up = [per[size][0] * p["up_volume"] * w / up for p, w in zip(parts, weights)]
        squares += sum(of_down) ** 2 / clean_down + sum(of_up) ** 2 / bottles
        if "the laboratory from bottle to bottle" in theirs:
            u = rule("laboratory-scatter", 0.05) * math.sqrt(squares)
            tally.compare(f"{table}: budget, bottles", where, u, theirs["the laboratory from bottle to bottle"], 1e-9)
        squares = sum(x * x for x in of_down + of_up) + sum(of_down) ** 2 + sum(of_up) ** 2
        if "the background from bottle to bottle" in theirs:
            u = rule("background-scatter", 0.20) * math.sqrt(squares)
            tally.compare(f"{table}: budget, background", where, u, theirs["the background from bottle to bottle"], 1e-9)
        if "the moments of the bottles" in theirs:
            off = math.hypot(rule("bottle-moment", 3.0), 0.5)
            u = math.sqrt(sum(2 * (share * own(p) * off / p["turnover"]) ** 2 / 3 for p in parts))
            tally.compare(f"{table}: budget, moments", where, u, theirs["the moments of the bottles"], 1e-9)
        apart = self.apart(size, per, True) if table == "removal_pooled" and self.differ else None
        name = "the pairs of bottles among themselves"
        tally.same(f"{table}: whether the pairs agree", where, apart is not None, name in theirs)
        if apart is not None and name in theirs:
            tally.compare(f"{table}: budget, pairs", where, apart, theirs[name], 1e-9)
        other = [{**s, "u": abs(s["u"]) / to_share} for s in budget if not s["name"].startswith("particles counted")]
        half = lambda counting: again * laws.half_width(other + [{"u": counting / NORMAL, "law": "normal", "freedom": None}])
        ends = curve.solve(ln_ratio + half(above)), curve.solve(ln_ratio - half(below))
        wide = float(row["high"]) - float(row["low"])
        for own, their in zip((ends[0] if ends[0] is not None else curve.top, ends[1]), ("low", "high")):
            tally.compare(f"{table}: ends of the interval", where, own, float(row[their]), 1e-3, None if wide == 0 else wide)
