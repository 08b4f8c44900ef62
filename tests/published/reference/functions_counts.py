"""Counts, ratios, cleanliness codes and size scales. Part of functions.py."""

from cases import *  # noqa: F403

# --- counting ------------------------------------------------------------------------------------------------------
def blanks():
    s, n, k = count(4), rnd.randrange(1, 8), uni(0.1, 5)
    b = [rnd.randrange(60) for _ in range(n)]
    mean = np.mean(b)
    v = max(np.var(b, ddof=1), mean) if n > 1 else mean
    # Counting of the sample, the mean of the blanks, and what the sample's own bottle adds beyond counting.
    variance = s + k * k * v / n + k * k * (v - mean)
    return [s, k] + b, [s - k * mean, variance, math.sqrt(variance)]


def concentration():
    n, v, c = count(7), uni(0.1, 100), conf()
    a = (1 - c) / 2
    # Garwood's limits by the gamma law in place of the chi-squared one.
    low = stats.gamma.ppf(a, n) if n else 0.0
    high = stats.gamma.isf(a, n + 1)
    return [n, v, c], [n / v, low / v, high / v, n / v * 100, 1 / math.sqrt(n) if n else -999]


def sensor():
    factor, diluent, own = uni(1, 100), uni(0, 50), uni(1, 1e5)
    mixture = (own + (factor - 1) * diluent) / factor
    v, loss, n = log(1e-6, 1e-3), uni(0.001, 0.5), log(1, 3e4)
    # No particle besides the one in the sensing volume: the Poisson law at zero.
    shown = n * stats.poisson.pmf(0, n * v)
    limit = optimize.brentq(lambda x: stats.poisson.sf(0, x * v) - loss, 0, 10 / v, xtol=1e-12, rtol=1e-15)
    return [mixture, factor, diluent, v, loss, n], [own, shown, limit]


def averages():
    x = [uni(0, 1e4) for _ in range(rnd.randrange(1, 12))]
    return x, [np.mean(x)]


group("bottle blanks: count, k, blanks -> net, variance, u", "numpy: var", 60, blanks)
group("concentration: count, mL, confidence -> per mL, low, high, per 100 mL, relative u", "scipy: gamma law", 80, concentration)
group("sensor: mixture, factor, diluent, mL, loss, per mL -> sample, shown, limit", "scipy: Poisson law and brentq", 60, sensor)
def sensor_u():
    v, um, uv = log(1e-6, 1e-3), uni(0, 0.1), uni(0, 0.1)
    passing = uni(0.001, 0.6)
    measured = passing * math.exp(-passing) / v
    true = uncertainties.wrap(lambda m, v: float(-scipy.special.lambertw(-m * v).real / v))
    return [measured, measured * um, v, v * uv], [true(ufloat(measured, measured * um), ufloat(v, v * uv)).std_dev]


group("sensor uncertainty: per mL, u, mL, u -> u", "uncertainties with scipy's lambertw", 40, sensor_u)
group("interval average: counts -> mean", "numpy: mean", 20, averages)

# --- ratio ---------------------------------------------------------------------------------------------------------
def ratios():
    x1, v1, x2, v2 = max(1, count(6)), Fraction(uni(1, 100)), max(1, count(4)), Fraction(uni(1, 100))
    beta = (Fraction(x1) / v1) / (Fraction(x2) / v2)
    return [x1, v1, x2, v2], [beta, 1 - 1 / beta]


def ratio_bounds():
    x1, x2, v1, v2, c = max(1, count(6)), count(4), uni(1, 100), uni(1, 100), conf()
    f = v2 / v1
    low = lambda a: x1 / ((x2 + 1) * stats.f.isf(a, 2 * (x2 + 1), 2 * x1)) * f
    high = lambda a: (x1 + 1) * stats.f.isf(a, 2 * (x1 + 1), 2 * x2) / x2 * f if x2 else -999
    a = (1 - c) / 2
    top = high(a)
    log_low = log_high = -999
    if x2:
        d = stats.lognorm(s=math.sqrt(1 / x1 + 1 / x2), scale=x1 / x2 * f)
        log_low, log_high = d.ppf(a), d.isf(a)
    return [x1, v1, x2, v2, c], [low(1 - c), high(1 - c), 1 - 1 / low(a), 1 - (1 / top if x2 else 0), log_low, log_high]


def garwood(n, a):
    return (stats.chi2.ppf(a, 2 * n) / 2 if n else 0.0), stats.chi2.isf(a, 2 * n + 2) / 2


def net_ratio():
    up, bu, down, bd = count(5), count(2), count(3), count(2)
    vs = [uni(1, 50) for _ in range(4)]
    c = conf()

    def net(s, vs, b, vb):
        k, a = vs / vb, (1 - c) / 4
        (ls, hs), (lb, hb) = garwood(s, a), garwood(b, a)
        n = s - k * b
        return n, n - math.hypot(s - ls, k * (hb - b)), n + math.hypot(hs - s, k * (b - lb))

    (nu, lu, hu), (nd, ld, hd) = net(up, vs[0], bu, vs[1]), net(down, vs[2], bd, vs[3])
    if nu <= 0 or hd <= 0:
        return None
    f = vs[2] / vs[0]
    return ([up, vs[0], bu, vs[1], down, vs[2], bd, vs[3], c],
            [nu / nd * f if nd > 0 else -999, max(lu, 0) / hd * f, hu / ld * f if ld > 0 else -999])


def many_ratios():
    n = rnd.randrange(1, 8)
    up, down = [uni(10, 1e4) for _ in range(n)], [uni(0.1, 50) for _ in range(n)]
    a, b = sorted([uni(1, 100), uni(1, 100)], reverse=True), sorted([uni(0.1, 10), uni(0.1, 10)], reverse=True)
    return up + down + a + b, [np.mean(up) / np.mean(down), (a[0] - a[1]) / (b[0] - b[1])]


def efficiency():
    e = uni(-3, 0.99999)
    x = Fraction(e)
    return [e], [1 / (1 - x), e]


group("ratio of counts: count, mL, count, mL -> beta, efficiency", EXACT, 60, ratios)
group("ratio bounds: count, mL, count, mL, confidence -> low, high, efficiency low, high, log-normal low, high", "scipy: F and log-normal laws", 100, ratio_bounds)
group("net ratio: 4 x (count, mL), confidence -> beta, low, high", "scipy: chi-squared law", 100, net_ratio)
group("ratio of averages: up, down, two pairs -> beta, beta of a class", "numpy: mean", 30, many_ratios)
group("efficiency: E -> beta, E", EXACT, 40, efficiency)

# --- cleanliness ---------------------------------------------------------------------------------------------------
TABLE = list(csv.DictReader((pathlib.Path(__file__).parent.parent / "as4059-nas1638.csv").open()))
AS, NAS = "ABCDEF", ["5-15", "15-25", "25-50", "50-100", ">100"]


def lowest(limits, x):
    """The place of the first limit that is not exceeded; one past the end when all are."""
    return bisect.bisect_left(limits, x) if all(a <= b for a, b in zip(limits, limits[1:])) else None


def as4059():
    size, x = rnd.randrange(6), math.floor(log(0.5, 5e6))
    limits = [int(row[AS[size]]) for row in TABLE]
    place = rnd.randrange(15)
    return [size, x, place], [lowest(limits, x), limits[place], [4, 6, 14, 21, 38, 70][size]]


def nas1638():
    counts = [math.floor(log(0.5, m)) for m in (2e6, 3e5, 5e4, 8e3, 1500)]
    each = []
    for name, x in zip(NAS, counts):
        limits = [int(row[name]) for row in TABLE if row[name] != ""]
        each.append(lowest(limits, x) + 1)
    place = rnd.randrange(14)
    return counts + [place], each + [max(each)] + [int(TABLE[place + 1][name]) for name in NAS]


ISO = [0.01, 0.02, 0.04, 0.08, 0.16, 0.32, 0.64, 1.3, 2.5, 5, 10, 20, 40, 80, 160, 320, 640, 1300, 2500, 5000, 1e4, 2e4,
       4e4, 8e4, 1.6e5, 3.2e5, 6.4e5, 1.3e6, 2.5e6]


def iso4406():
    cs = sorted((float(f"{10 ** uni(-2, 6):.6g}") for _ in range(3)), reverse=True)
    raws = [rnd.choice([rnd.randrange(40), 5000]) for _ in range(3)]
    out = []
    for c, raw in zip(cs, raws):
        n = bisect.bisect_left(ISO, c)
        out += [n, 1 if raw < 20 else 0, ISO[n - 1] if n else 0, ISO[n]]
    return [x for pair in zip(cs, raws) for x in pair], out


group("as4059: size, count per 100 mL, class -> class, its limit, um(c)", "second formulation: Python's bisect on the printed table", 120, as4059)
group("nas1638: 5 counts per 100 mL, class -> 5 classes, overall, 5 limits", "second formulation: Python's bisect on the printed table", 80, nas1638)
group("iso4406 codes: 3 x (per mL, raw) -> 3 x (number, few, above, up to)", "second formulation: Python's bisect on the printed table", 80, iso4406)

OLD_TO_C = [4.2, 4.6, 5.1, 5.8, 6.4, 7.1, 7.7, 8.4, 9.1, 9.8, 10.6, 11.3, 12.1, 12.9, 13.6, 14.4, 15.2, 15.9, 16.7, 17.5,
            18.2, 19.0, 19.7, 20.5, 21.2, 22.0, 22.7, 23.5, 24.2, 24.9, 25.7, 26.4, 27.1, 27.9, 28.5, 29.2, 29.9, 30.5, 31.1, 31.7]


def sizes():
    old, c = uni(1, 40), uni(4.2, 31.7)
    xs = sorted(uni(1, 100) for _ in range(4))
    ys = sorted(uni(1, 80) for _ in range(4))
    at = uni(xs[0], xs[-1])
    if min(b - a for r in (xs, ys) for a, b in zip(r, r[1:])) < 0.1:
        return None
    to_c = np.interp(old, range(1, 41), OLD_TO_C)
    return ([old, c] + xs + ys + [at], [to_c, np.interp(c, OLD_TO_C, range(1, 41)), to_c / 0.898, c / 0.898, c * 0.898, np.interp(at, xs, ys)])


group("size scales: older, um(c), 4 x older, 4 x um(c), older -> 6 conversions", "numpy: interp", 60, sizes)
