"""Makes statistics.json: random inputs and what other people's libraries answer. Run: python make_statistics.py > statistics.json

Needs pip: scipy, statsmodels, mpmath, uncertainties, numpy (versions are written into the file)."""

import bisect
import json
import math
import statistics as exact
from fractions import Fraction

import mpmath
import numpy as np
import scipy
import statsmodels
import uncertainties
from scipy import integrate, special, stats
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.power import TTestIndPower
from statsmodels.stats.rates import confint_poisson_2indep, test_poisson_2indep
import statsmodels.api as sm

rng = np.random.default_rng(20260)
out = {
    "made_with": {m.__name__: m.__version__ for m in (scipy, statsmodels, mpmath, uncertainties, np)},
}


def real(x):
    return float(x)


def conf():
    return float(rng.choice([0.5, 0.8, 0.9, 0.95, 0.99, 0.999]))


def count(top=6):
    return int(10 ** rng.uniform(0, top)) if rng.random() > 0.15 else int(rng.integers(0, 5))


def garwood(n, tail):
    return (stats.chi2.ppf(tail, 2 * n) / 2 if n else 0.0), stats.chi2.isf(tail, 2 * n + 2) / 2


rows = out["poisson"] = []
for _ in range(150):
    n, c = count(8), conf()
    low, high = garwood(n, (1 - c) / 2)
    rows.append([n, c, low, high, garwood(n, 1 - c)[0], garwood(n, 1 - c)[1]])

rows = out["ratio"] = []
for _ in range(150):
    x1, x2, v1, v2, c = max(1, count(7)), count(5), rng.uniform(1, 100), rng.uniform(1, 100), conf()
    a = (1 - c) / 2
    # The odds x/(1-x) of a beta law follow the F law: F-based form of Clopper and Pearson.
    f = v2 / v1
    low = x1 / ((x2 + 1) * stats.f.isf(a, 2 * (x2 + 1), 2 * x1)) * f
    high = (x1 + 1) * stats.f.isf(a, 2 * (x1 + 1), 2 * x2) / x2 * f if x2 else None
    rows.append([x1, v1, x2, v2, c, low, high])

rows = out["ratio_score"] = []
for _ in range(60):
    x1, x2, v1, v2 = int(rng.integers(1, 3000)), int(rng.integers(1, 300)), rng.uniform(1, 100), rng.uniform(1, 100)
    low, high = confint_poisson_2indep(x1, v1, x2, v2, method="score", compare="ratio")
    t = test_poisson_2indep(x1, v1, x2, v2, method="score")
    rows.append([x1, v1, x2, v2, real(low), real(high), real(t.statistic), real(t.pvalue)])

rows = out["background"] = []
for _ in range(80):
    s, b, k, c = count(4), count(3), rng.uniform(0.05, 20), conf()
    (ls, us), (lb, ub) = garwood(s, (1 - c) / 2), garwood(b, (1 - c) / 2)
    net = s - k * b
    rows.append([s, b, k, c, net, s + k * k * b, net - math.sqrt((s - ls) ** 2 + (k * ub - k * b) ** 2),
                 net + math.sqrt((us - s) ** 2 + (k * b - k * lb) ** 2)])

rows = out["coincidence"] = []
for _ in range(60):
    m = rng.uniform(0, 1 / math.e)
    rows.append([m, real(-special.lambertw(-m).real)])

rows = out["dispersion"] = []
for _ in range(40):
    x = rng.poisson(10 ** rng.uniform(0, 3), size=int(rng.integers(2, 12)))
    if x.sum() == 0:
        continue
    chi = float(((x - x.mean()) ** 2).sum() / x.mean())
    rows.append([x.tolist(), chi / (len(x) - 1), real(stats.chi2.sf(chi, len(x) - 1))])

limits = [0.01, 0.02, 0.04, 0.08, 0.16, 0.32, 0.64, 1.3, 2.5, 5, 10, 20, 40, 80, 160, 320, 640, 1300, 2500, 5000, 1e4, 2e4,
          4e4, 8e4, 1.6e5, 3.2e5, 6.4e5, 1.3e6, 2.5e6]
rows = out["iso4406"] = []
for _ in range(200):
    c = float(f"{10 ** rng.uniform(-3, 6.4):.6g}")
    rows.append([c, bisect.bisect_left(limits, c)])

rows = out["spectrum"] = []
for _ in range(30):
    d = (10 ** rng.uniform(-1, 4, size=int(rng.integers(1, 9)))).tolist()
    rows.append([d, np.cumsum(d[::-1])[::-1].tolist()])

rows = out["time_average"] = []
for _ in range(30):
    t = np.cumsum(rng.uniform(0.1, 60, size=int(rng.integers(2, 15))))
    y = rng.uniform(0, 1e4, size=len(t))
    rows.append([t.tolist(), y.tolist(), real(np.trapezoid(y, t) / (t[-1] - t[0]))])

rows = out["descriptive"] = []
for _ in range(60):
    x = (10 ** rng.uniform(-3, 6) + rng.normal(size=int(rng.integers(3, 40))) * 10 ** rng.uniform(-3, 2)).tolist()
    x = [float(f"{v:.14g}") for v in x]  # so short that every reader of JSON reads the same number
    f = [Fraction(v) for v in x]
    m = sum(f) / len(f)
    ss = sum((v - m) ** 2 for v in f)
    lag = sum((a - m) * (b - m) for a, b in zip(f, f[1:])) / ss
    rows.append([x, float(m), math.sqrt(ss / (len(f) - 1)), float(lag), exact.median(x), real(stats.median_abs_deviation(x))])

rows = out["correlation"] = []
for _ in range(30):
    x = rng.normal(size=12)
    y = rng.uniform(-2, 2) * x + rng.normal(size=12)
    rows.append([x.tolist(), y.tolist(), real(stats.pearsonr(x, y).statistic)])

rows = out["polynomial"] = []
for _ in range(60):
    degree, constant = int(rng.integers(1, 5)), bool(rng.random() < 0.6)
    x = np.sort(rng.uniform(-3, 10, size=int(rng.integers(degree + 4, 40))))
    y = np.polyval(rng.normal(size=degree + 1), x) + rng.normal(size=len(x))
    if not constant:
        y = y - np.polyval([0], x)
    X = np.vander(x, degree + 1, increasing=True)[:, 0 if constant else 1:]
    fit = sm.OLS(y, X).fit()
    at = rng.uniform(x[0], x[-1])
    row = np.array([at ** k for k in range(0 if constant else 1, degree + 1)])
    frame = fit.get_prediction(row).summary_frame(alpha=0.05)
    rows.append([x.tolist(), y.tolist(), degree, constant, fit.params.tolist(), fit.bse.tolist(), math.sqrt(fit.mse_resid),
                 real(fit.rsquared), real(at), [real(frame[c].iloc[0]) for c in
                 ("mean", "mean_se", "mean_ci_lower", "mean_ci_upper", "obs_ci_lower", "obs_ci_upper")]])

rows = out["multiple"] = []
for _ in range(30):
    k, n = int(rng.integers(1, 4)), int(rng.integers(10, 30))
    X = rng.normal(size=(k, n)) * 10 ** rng.uniform(-2, 2, size=(k, 1))
    y = rng.normal(size=n) + X.sum(axis=0)
    fit = sm.OLS(y, sm.add_constant(X.T)).fit()
    rows.append([X.tolist(), y.tolist(), fit.params.tolist(), fit.bse.tolist(), real(fit.rsquared)])

rows = out["groups"] = []
for _ in range(40):
    k = int(rng.integers(2, 7))
    data = [rng.normal(rng.uniform(0, 2), 1, size=int(rng.integers(2, 9))).tolist() for _ in range(k)]
    f = stats.f_oneway(*data)
    pairs = [(i, j) for i in range(k) for j in range(i + 1, k)]
    total, dof = sum(map(len, data)), sum(map(len, data)) - k
    mse = sum(((np.array(g) - np.mean(g)) ** 2).sum() for g in data) / dof
    t = [abs(np.mean(data[i]) - np.mean(data[j])) / math.sqrt(mse * (1 / len(data[i]) + 1 / len(data[j]))) for i, j in pairs]
    tukey = [real(stats.studentized_range.sf(v * math.sqrt(2), k, dof)) for v in t]
    raw = [real(2 * stats.t.sf(v, dof)) for v in t]
    holm = multipletests(raw, method="holm")[1].tolist()
    q = real(stats.studentized_range.ppf(0.95, k, dof))
    dunnett = stats.dunnett(*[np.array(g) for g in data[1:]], control=np.array(data[0]), rng=np.random.default_rng(1)).pvalue
    rows.append([data, real(f.statistic), real(f.pvalue), math.sqrt(mse), tukey, holm, q, dunnett.tolist()])

rows = out["studentized_range"] = []
for _ in range(60):
    k, dof = int(rng.integers(2, 21)), float(rng.choice([1, 2, 3, 5, 8, 12, 20, 60, 240]))
    q = rng.uniform(0.1, 8)
    rows.append([q, k, dof, real(stats.studentized_range.cdf(q, k, dof))])

rows = out["range_quantile"] = []
for _ in range(20):
    k, dof, c = int(rng.integers(2, 12)), float(rng.choice([2, 3, 5, 8, 12, 20, 60])), float(rng.choice([0.9, 0.95, 0.99]))
    rows.append([c, k, dof, real(stats.studentized_range.ppf(c, k, dof))])

# Two groups against a reference: the bivariate t law by direct integration of its density.
rows = out["dunnett_two"] = []
for _ in range(15):
    n0, n1, n2 = (int(v) for v in rng.integers(2, 12, size=3))
    nu, d = float(n0 + n1 + n2 - 3), rng.uniform(0.3, 3.5)
    r = math.sqrt(n1 / (n1 + n0)) * math.sqrt(n2 / (n2 + n0))
    density = lambda y, x: (1 + (x * x - 2 * r * x * y + y * y) / (nu * (1 - r * r))) ** (-(nu + 2) / 2)
    value = integrate.dblquad(density, -d, d, -d, d, epsabs=1e-11, epsrel=1e-11)[0] / (2 * math.pi * math.sqrt(1 - r * r))
    rows.append([d, n1, n2, n0, nu, value])

rows = out["power"] = []
for _ in range(60):
    ratio, k, n, c = rng.uniform(0.1, 4), int(rng.integers(2, 7)), int(rng.integers(2, 25)), float(rng.choice([0.9, 0.95, 0.99]))
    dof, shift = k * (n - 1), ratio * math.sqrt(n / 2)
    t = stats.t.isf((1 - c) / 2, dof)
    value = real(stats.nct.sf(t, dof, shift) + stats.nct.cdf(-t, dof, shift))
    if math.isfinite(value):  # scipy's non-central t gives up on some far tails
        rows.append([ratio, k, n, c, value])

rows = out["specimens"] = []
for _ in range(30):
    ratio, p = rng.uniform(0.3, 3), float(rng.choice([0.8, 0.9]))
    n = TTestIndPower().solve_power(ratio, power=p, alpha=0.05)
    if n > 2.2:
        rows.append([ratio, p, int(math.ceil(n))])

rows = out["propagation"] = []
for _ in range(60):
    a, b, c = rng.uniform(0.5, 5, size=3)
    u = rng.uniform(0.01, 0.2, size=3)
    r = rng.uniform(-0.9, 0.9)
    cov = np.diag(u ** 2)
    cov[0, 1] = cov[1, 0] = r * u[0] * u[1]
    A, B, C = uncertainties.correlated_values([a, b, c], cov)
    from uncertainties import umath
    y = A * B / C + umath.exp(-A) * umath.sqrt(B) - umath.log(C) ** 2
    rows.append([[a, b, c], u.tolist(), r, y.nominal_value, y.std_dev])

rows = out["student"] = []
for _ in range(60):
    p, dof = conf(), float(10 ** rng.uniform(0, 6))
    rows.append([p, dof, real(stats.t.isf((1 - p) / 2, dof))])

rows = out["risk"] = []
for _ in range(25):
    tur, itp, acc = rng.uniform(0.5, 12), rng.uniform(0.5, 0.99), rng.uniform(0.3, 1)
    sp, u = 1 / stats.norm.ppf((1 + itp) / 2), 1 / (2 * tur)
    # The pair (true, measured) is bivariate normal: P(inside and accepted) by its distribution function, mpmath for the rest.
    inside = mpmath.quad(lambda x: mpmath.npdf(x, 0, sp) * (mpmath.ncdf((acc - x) / u) - mpmath.ncdf((-acc - x) / u)),
                         mpmath.linspace(-1, 1, 41))
    accepted = mpmath.ncdf(acc / math.hypot(sp, u)) * 2 - 1
    rows.append([tur, itp, acc, float(accepted - inside), float(itp - inside)])

print("{")
print(",\n".join(f"{json.dumps(k)}: " + (json.dumps(v) if isinstance(v, dict) else
      "[\n" + ",\n".join(json.dumps(r, default=float, allow_nan=False) for r in v) + "\n]") for k, v in out.items()))
print("}")
