"""Makes shares.csv: the share caught from one pair of bottles, as scipy has it. Run: python shares.py > shares.csv

Needs pip: scipy (1.17.1). Particles before and behind, turnovers of the tank between the two bottles -> the share caught and
its limits; with fewer than 20 behind only the lower one, one-sided at 95 % and exact."""

import math

from scipy import optimize, stats


def share(log_ratio, later):
    # (1 - E) exp(E k) = ratio, beyond the top of the curve.
    top = 1 - 1 / later if later > 0 else -50.0
    return optimize.brentq(lambda e: math.log1p(-e) + e * later - log_ratio, top, 1 - 1e-12, xtol=1e-14)


def jeffreys(n, tail):
    return stats.gamma.ppf(tail, n + 0.5) if n else 0.0, stats.gamma.isf(tail, n + 0.5)


def value(up, down, later):
    log_ratio = math.log(down / up)
    low, high = jeffreys(down, 0.025)
    # The clean bottle held nothing, which says only that the background is small.
    below = math.log(down / (down - math.hypot(down - low, jeffreys(0, 0.025)[1])))
    above = math.log(high / down)
    low, high = jeffreys(up, 0.025)
    spread = math.hypot(below, math.log(high / up)), math.hypot(above, math.log(up / low))
    return share(log_ratio, later), share(log_ratio + spread[1], later), share(log_ratio - spread[0], later)


def bound(up, down, later):
    # Given how many there are in all, those behind are binomial.
    behind = stats.beta.ppf(0.95, down + 1, up)
    return share(math.log(behind / (1 - behind)), later)


print("up,down,later,share,low,high")
for up, down, later in [(1000, 100, 0), (20000, 2000, 0.6), (5000, 40, 1.2), (800, 400, 0.3), (300, 25, 0.9), (900, 60, 1.8)]:
    print(up, down, later, *(f"{x:.12g}" for x in value(up, down, later)), sep=",")
for up, down, later in [(1000, 0, 0), (1000, 10, 0), (3000, 0, 1.1), (250, 3, 0.8), (40, 1, 0.5), (100000, 19, 1.5)]:
    print(up, down, later, "", f"{bound(up, down, later):.12g}", "", sep=",")
