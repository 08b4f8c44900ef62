"""Capacity, measurement uncertainty, decisions, fits and comparisons. Part of functions.py."""

from cases import *  # noqa: F403

# --- capacity ------------------------------------------------------------------------------------------------------
def ledger():
    given, left, out = [(uni(10, 20), uni(0.001, 0.1)) for _ in range(2)], [(uni(0, 1), uni(0.001, 0.1))], [(uni(0, 1), uni(0.001, 0.1)), (uni(0, 1), uni(0.001, 0.1))]
    gain = (sum(m for m, _ in given) - sum(m for m, _ in left + out) + uni(-0.5, 0.5), uni(0, 0.3))
    total = lambda rows: sum(ufloat(m, u) for m, u in rows)
    delivered = total(given) - total(left)
    retained = delivered - total(out)
    diff = retained - ufloat(*gain)
    closes = abs(diff.nominal_value) <= 2 * diff.std_dev
    flat = [x for row in given + left + out + [gain] for x in row]
    return flat, [delivered.nominal_value, delivered.std_dev, retained.nominal_value, retained.std_dev, diff.nominal_value,
                  diff.std_dev, diff.nominal_value / retained.nominal_value, closes]


def terminal():
    clean, net, part, c, q, t = uni(5, 30), uni(50, 500), rnd.random(), uni(0.1, 10), uni(0.1, 1), uni(1, 200)
    housing = uni(0, clean)
    F = Fraction
    return [clean, housing, net, part, c, q, t], [F(clean) - F(housing), F(clean) + F(net), F(clean) + F(net) * F(part), F(c) * F(q) * F(t)]


group("ledger: 2 given, 1 left, 2 elsewhere, gain, each with u -> delivered, u, retained, u, difference, u, relative, closes", "uncertainties", 60, ledger)
group("terminal: kPa assembly, housing, net, part, g/L, L/min, min -> element, assembly, at part, g", EXACT, 40, terminal)

# --- uncertainty ---------------------------------------------------------------------------------------------------
def laws():
    a, step, percent, span, value, n, k = uni(0.01, 5), uni(0.001, 1), uni(0.1, 3), uni(1, 500), uni(-100, 100), count(6), uni(1, 3)
    readings = [rnd.gauss(value, a) for _ in range(rnd.randrange(2, 12))]
    uniform = lambda half: stats.uniform(-half, 2 * half).std()
    return ([a, step, percent, span, value, n, k] + readings,
            [uniform(a), stats.triang(0.5, -a, 2 * a).std(), stats.arcsine(-a, 2 * a).std(), uniform(step / 2),
             uniform(percent / 100 * span), uniform(percent / 100 * abs(value)), stats.poisson(n).std() if n else 0, a / k,
             np.mean(readings), stats.sem(readings), len(readings) - 1])


def budget():
    x, u, dof = [uni(1, 5) for _ in range(3)], [uni(0.01, 0.3) for _ in range(3)], [rnd.randrange(2, 40) for _ in range(3)]
    A, B, C = (ufloat(v, s) for v, s in zip(x, u))
    y = A * B / C + umath.sqrt(A)
    parts = [y.error_components()[v] for v in (A, B, C)]
    nu = y.std_dev**4 / sum(p**4 / d for p, d in zip(parts, dof))
    c, k = conf(), uni(1, 3)
    U = stats.t.isf((1 - c) / 2, nu) * y.std_dev
    whole = max(1, math.floor(Decimal(repr(nu)) + Decimal("0.005")))
    return (x + u + dof + [c, k], [y.nominal_value, y.std_dev, nu, U, k * y.std_dev] + [(p / y.std_dev) ** 2 for p in parts]
            + [y.nominal_value - U, y.nominal_value + U, whole])


def correlated_results():
    x, u, r = [uni(1, 5) for _ in range(3)], [uni(0.01, 0.3) for _ in range(3)], uni(-0.9, 0.9)
    cov = np.diag(np.array(u) ** 2)
    cov[0, 1] = cov[1, 0] = r * u[0] * u[1]
    A, B, C = uncertainties.correlated_values(x, cov)
    return x + u + [r], [covariance_matrix([A * B, B / C])[0][1], covariance_matrix([A * B, B / C])[0][0]]


def normal_factor():
    c = uni(0.05, 0.9999)
    return [c], [stats.norm.isf((1 - c) / 2)]


def monte_carlo():
    """The sum of two rectangles is a trapezoid; the sum of normals is normal: known laws, no draws."""
    a, b, s1, s2, c = uni(0.5, 3), uni(0.1, 0.45), uni(0.1, 2), uni(0.1, 2), rnd.choice([0.8, 0.9, 0.95])
    wide, narrow = a, a * b
    top = (wide - narrow) / (wide + narrow)
    trapezoid = stats.trapezoid((1 - top) / 2, (1 + top) / 2, -(wide + narrow), 2 * (wide + narrow))
    tail = (1 - c) / 2
    normal = stats.norm(scale=math.hypot(s1, s2))
    # The exponential of a normal: skewed, so that the shortest interval is another one.
    s = 0.5
    skewed = stats.lognorm(s=s)
    width = lambda p: skewed.ppf(p + c) - skewed.ppf(p)
    p = optimize.minimize_scalar(width, bounds=(0, 1 - c), method="bounded", options={"xatol": 1e-10}).x
    return ([wide, narrow, s1, s2, c], [trapezoid.std(), trapezoid.ppf(tail), trapezoid.isf(tail), normal.std(), normal.ppf(tail),
            normal.isf(tail), skewed.mean(), skewed.std(), skewed.ppf(tail), skewed.isf(tail), width(p)])


def agreement():
    value, u, k = uni(-10, 10), log(1e-3, 10), 1.959963984540054
    digits = Decimal(1).scaleb(Decimal(u).adjusted() - 1) / 2
    low, high = value - k * u + rnd.gauss(0, 1) * float(digits), value + k * u + rnd.gauss(0, 1) * float(digits)
    close = lambda a, b: abs(Decimal(a) - Decimal(b)) <= digits
    return [value, u, low, high], [close(low, value - k * u) and close(high, value + k * u)]


group("laws: a, step, percent, span, value, n, k, readings -> 8 u, mean, u, dof", "scipy: uniform, triangular, arcsine and Poisson laws; sem", 40, laws)
group("budget: 3 x, 3 u, 3 dof, confidence, k -> y, u, dof, U, U, 3 shares, low, high, whole dof", "uncertainties with scipy's Student law", 60, budget)
group("covariance of results: 3 x, 3 u, r -> cov, var", "uncertainties: covariance_matrix", 40, correlated_results)
group("normal factor: confidence -> k", "scipy: normal law", 40, normal_factor)
group("monte carlo: two half-widths, two u, confidence -> laws of two sums and of an exponential", "scipy: trapezoid, normal and log-normal laws", 10, monte_carlo)
group("agreement: y, u, low, high -> agrees", "second formulation in decimals", 100, agreement)


def decisions():
    ratio, t, u, reading, limit = uni(1, 10), uni(0.1, 10), uni(0.05, 5), uni(-3, 3), uni(-3, 3)
    return ([t, u, reading, limit, ratio], [t / u, stats.norm(loc=reading, scale=u).sf(limit), float(1 - 1 / Fraction(ratio)),
            math.sqrt((ratio - 1) * (ratio + 1)) / ratio])


def guard():
    tur, itp, risk = uni(1, 6), uni(0.6, 0.97), log(0.0005, 0.02)
    sp, u = 1 / stats.norm.ppf((1 + itp) / 2), 1 / (2 * tur)

    def false_accept(acc):
        # Accepted and outside: the pair (true, measured) over the true value.
        inside = lambda x: stats.norm.pdf(x, 0, sp) * (stats.norm.cdf((acc - x) / u) - stats.norm.cdf((-acc - x) / u))
        return 2 * integrate.quad(inside, 1, 1 + 12 * u, epsabs=1e-14, epsrel=1e-12, limit=400)[0]

    if false_accept(1) <= risk or false_accept(0.01) >= risk:
        return None
    return [tur, itp, risk], [optimize.brentq(lambda a: false_accept(a) - risk, 0.01, 1, xtol=1e-12)]


group("decisions: tolerance, U, reading, limit, TUR -> TUR, risk, two guard bands", "scipy: normal law", 60, decisions)
group("guard band for a risk: TUR, in tolerance, risk -> acceptance", "scipy: quad and brentq", 20, guard)


def interval():
    centre, half, factor, x, p = uni(-5, 5), uni(-3, 3), uni(0, 4), uni(-8, 8), uni(0.01, 0.999)
    low, high = sorted([Fraction(centre) - Fraction(half), Fraction(centre) + Fraction(half)])
    return [centre, half, factor, x, p], [low, high, low <= Fraction(x) <= high, low * Fraction(factor), high * Fraction(factor), p, 1 - Fraction(p)]


group("interval: centre, half, factor, x, p -> low, high, contains, scaled, p, 1 - p", EXACT, 40, interval)

# --- regression, comparison ----------------------------------------------------------------------------------------
def lines():
    n = rnd.randrange(4, 15)
    x = sorted(uni(1, 10) for _ in range(n))
    y = [2 * v + rnd.gauss(0, 1) for v in x]
    at = uni(-5, 20)
    fit = stats.linregress(x, y)
    origin = sm.OLS(np.array(y), np.array(x)[:, None]).fit()
    two = np.array([x, np.cos(x)]).T
    plane = sm.OLS(np.array(y), two).fit()
    full = sm.OLS(np.array(y), sm.add_constant(np.array(x))).fit()
    frame = full.get_prediction([[1, at]]).summary_frame(alpha=0.05).iloc[0]
    return ([at] + x + y, [fit.intercept, fit.slope, fit.intercept_stderr, fit.stderr, origin.params[0], origin.bse[0],
            plane.params[0], plane.params[1], plane.bse[0], plane.bse[1], frame["mean"], frame["mean_se"],
            frame["obs_ci_lower"], frame["obs_ci_upper"]])


def holm():
    p = [rnd.random() ** 3 for _ in range(rnd.randrange(1, 12))]
    return p, multipletests(p, method="holm")[1]


def lsd():
    s, dof, n1, n2, c = uni(0.1, 5), rnd.randrange(1, 60), rnd.randrange(1, 20), rnd.randrange(1, 20), conf()
    mean = lambda n: ufloat(0, s / math.sqrt(n))
    return [s, dof, n1, n2, c], [stats.t.isf((1 - c) / 2, dof) * (mean(n1) - mean(n2)).std_dev]


def anova_power():
    d, n, c = uni(0.3, 3), rnd.randrange(3, 25), rnd.choice([0.9, 0.95, 0.99])
    # Two groups a distance d apart: Cohen's f is d/2.
    return [d, n, c], [FTestAnovaPower().power(d / 2, 2 * n, 1 - c, k_groups=2)]


def smallest():
    n, p, sd = rnd.randrange(3, 30), rnd.choice([0.8, 0.9]), uni(0.1, 5)
    return [n, p, sd], [TTestIndPower().solve_power(None, nobs1=n, alpha=0.05, power=p) * sd]


def ties():
    """Maximal sets of groups that do not differ are the maximal cliques of the graph of ties."""
    n = rnd.randrange(2, 9)
    means = [uni(0, 10) for _ in range(n)]
    pairs = [(i, j) for i in range(n) for j in range(i + 1, n)]
    differs = [1.0 if abs(means[i] - means[j]) > uni(1, 5) else 0.0 for i, j in pairs]
    graph = nx.Graph()
    graph.add_nodes_from(range(n))
    graph.add_edges_from(p for p, d in zip(pairs, differs) if not d)
    masks = sorted(sum(1 << i for i in clique) for clique in nx.find_cliques(graph))
    return [n] + means + differs, masks


group("straight lines: x, 4..14 x, y -> line, origin, two columns, extrapolation", "statsmodels: OLS; scipy's linregress", 40, lines)
group("holm: p-values -> adjusted", "statsmodels: multipletests", 60, holm)
group("least significant difference: s, dof, n, n, confidence -> LSD", "scipy: Student's law; uncertainties", 40, lsd)
group("power of an anova: d, n, confidence -> power", "statsmodels: FTestAnovaPower", 40, anova_power)
group("smallest difference: n, power, sd -> difference", "statsmodels: TTestIndPower", 30, smallest)
group("ties: n, means, verdicts -> maximal sets as bit masks", "networkx: find_cliques", 80, ties)
