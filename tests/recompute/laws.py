"""Intervals of sums of errors, and the law of a difference."""

import math

import numpy as np
from scipy import optimize, signal, special, stats

ROOT3 = math.sqrt(3)


def standard(sources):
    return math.sqrt(sum(s["u"] ** 2 for s in sources))


def freedom(sources, floor=1.0):
    """After Welch and Satterthwaite (JCGM 100:2008, G.4.1)."""
    total = standard(sources)
    reciprocal = sum((s["u"] / total) ** 4 / max(s["freedom"], 1.0) for s in sources if s["law"] == "student")
    return max(1 / reciprocal, floor) if reciprocal > 1e-9 else math.inf


def box_density(widths, points=20001):
    """Density of the sum of errors anywhere within ± each width, on an even grid."""
    total = sum(widths)
    step = 2 * total / (points - 1)
    density = None
    for width in widths:
        # Whole cells of a box, and what is left of it in the cells at its ends.
        cells = int(math.floor(width / step + 0.5))
        box = np.ones(2 * cells + 1)
        rest = 2 * width / step - (2 * cells - 1)
        box[0] = box[-1] = rest / 2 if cells > 0 else 1.0
        density = box if density is None else signal.fftconvolve(density, box)
    density = np.maximum(density, 0)
    at = (np.arange(len(density)) - (len(density) - 1) / 2) * step
    return at, density / density.sum()


def half_width(sources, p=0.95):
    """As the tool says it does: normal and t errors as one of Welch and Satterthwaite's freedom, rectangular ones convolved."""
    sources = [s for s in sources if s["u"] != 0]
    free = [s for s in sources if s["law"] != "rectangular"]
    widths = sorted((abs(s["u"]) * ROOT3 for s in sources if s["law"] == "rectangular"), reverse=True)
    own = standard(free) if free else 0.0
    law = stats.norm if not free or freedom(free, 0) == math.inf else stats.t(freedom(free, 0))
    if not widths:
        return own * law.ppf((1 + p) / 2)
    if not free and len(widths) == 1:
        return widths[0] * p
    if not free:
        at, mass = box_density(widths[1:]) if len(widths) > 1 else (np.zeros(1), np.ones(1))
        below = lambda x: np.clip((x + widths[0]) / (2 * widths[0]), 0, 1)
    else:
        at, mass = box_density(widths)
        below = lambda x: law.cdf(x / own)
    within = lambda h: float(np.sum(mass * (below(h - at) - below(-h - at)))) - p
    high = sum(widths) + (own * law.ppf((1 + p) / 2) if free else 0.0)
    return optimize.brentq(within, 0, high * (1 + 1e-12), xtol=1e-13 * high, rtol=1e-13)


def exact_half_width(sources, p=0.95):
    """The same with every t error by itself: the inverse of the characteristic function (Gil-Pelaez), trapezoidal in t."""
    sources = [s for s in sources if s["u"] != 0]
    spread = standard(sources)
    t = (np.arange(12000) + 0.5) * (60 / spread / 12000)
    phi = np.ones_like(t)
    for s in sources:
        u = abs(s["u"])
        if s["law"] == "rectangular":
            phi *= np.sinc(u * ROOT3 * t / math.pi)
        elif s["law"] == "normal":
            phi *= np.exp(-((u * t) ** 2) / 2)
        else:
            v = s["freedom"]
            z = math.sqrt(v) * u * t
            phi *= np.exp(np.log(special.kve(v / 2, z)) - z + v / 2 * np.log(z) - special.gammaln(v / 2) - (v / 2 - 1) * math.log(2))
    step = t[1] - t[0]
    within = lambda h: 2 / math.pi * step * float(np.sum(np.sin(t * h) / t * phi)) - p
    high = spread
    while within(high) < 0:
        high *= 1.5
    return optimize.brentq(within, 0.1 * spread, high, xtol=1e-12 * spread)


def less(first, second):
    """Sources of a difference: what both share by cause and name cancels as far as it is alike."""
    rest = list(second)
    found = []
    for own in first:
        twin = next((s for s in rest if own["shared"] and s["shared"] == own["shared"] and s["name"] == own["name"]), None)
        if twin is not None:
            rest = [s for s in rest if s is not twin]
        found.append({**own, "u": own["u"] - (twin["u"] if twin else 0.0)})
    return found + [{**s, "u": -s["u"]} for s in rest]


def mean(several):
    """Sources of a mean with equal weights: what is shared stays, the rest averages out."""
    found, count = [], len(several)
    for s in (s for sources in several for s in sources):
        known = next((k for k in found if s["shared"] and k["shared"] == s["shared"] and k["name"] == s["name"]), None)
        if known is not None:
            known["u"] += s["u"] / count
        else:
            found.append({**s, "u": s["u"] / count})
    return found


def two_sided(value, sources):
    ratio, v = abs(value) / standard(sources), freedom(sources)
    return 2 * (stats.t.sf(ratio, v) if math.isfinite(v) else stats.norm.sf(ratio))


def reach(sources, error):
    v = freedom(sources)
    return stats.t.isf(error / 2, v) if math.isfinite(v) else stats.norm.isf(error / 2)


def holm(p_values):
    order = sorted(range(len(p_values)), key=lambda i: p_values[i])
    adjusted, least = [0.0] * len(p_values), 0.0
    for rank, i in enumerate(order):
        least = max(least, min(1.0, (len(order) - rank) * p_values[i]))
        adjusted[i] = least
    return adjusted


def resolvable(sources, error, power=0.8):
    """The true difference that shows in eight of ten cases: the non-central t law, as a mean over the estimated deviation."""
    v, t = freedom(sources), reach(sources, error)
    shown = lambda shift, s: special.ndtr(shift - t * s) + special.ndtr(-shift - t * s)
    if math.isfinite(v):
        # s² v is χ² with v degrees of freedom; a fine even grid in ln s, whose sum converges fast since both ends are nothing, also
        # where a single degree of freedom leaves the density of s itself at its highest at zero.
        ends = np.sqrt(stats.chi2.ppf([1e-14, 1 - 1e-14], v) / v)
        s = np.exp(np.linspace(*np.log(ends), 20001))
        weights = s * stats.chi.pdf(s * math.sqrt(v), v)
        weights /= weights.sum()
        mean = lambda shift: float(np.sum(weights * shown(shift, s)))
    else:
        mean = lambda shift: float(shown(shift, 1.0))
    return optimize.brentq(lambda shift: mean(shift) - power, 0, 20 * t + 20, xtol=1e-12) * standard(sources)
