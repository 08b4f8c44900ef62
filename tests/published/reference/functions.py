"""Random inputs and the answers of independent implementations, for every function of the trade that physics.py and
make_statistics.py leave out.

    pip install chemicals fluids scipy statsmodels networkx uncertainties mpmath numpy
    python3 tests/published/reference/functions.py > tests/published/reference/functions.json

Where a library has the relation, the library answers ("against" names it); where none has it, a second formulation does,
written from the published formula or from the definition and not from our code. A row is [inputs, outputs], flat lists of
numbers in the units that the name of the group tells; -999 stands for "none".
"""

import bisect
import csv
import json
import math
import pathlib
import random
from decimal import Decimal
from fractions import Fraction

import chemicals
import fluids
import mpmath as mp
import networkx as nx
import numpy as np
import scipy
import statsmodels
import statsmodels.api as sm
import uncertainties
from scipy import integrate, optimize, stats
from scipy.integrate import solve_ivp
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.power import FTestAnovaPower, TTestIndPower
from uncertainties import covariance_matrix, ufloat, umath

mp.mp.dps = 50
rnd = random.Random(20261125)
rng = np.random.default_rng(20261125)
uni = rnd.uniform
log = lambda a, b: math.exp(uni(math.log(a), math.log(b)))
conf = lambda: rnd.choice([0.5, 0.8, 0.9, 0.95, 0.99, 0.999])
count = lambda top=6: int(10 ** uni(0, top)) if rnd.random() > 0.15 else rnd.randrange(5)
groups = {}
versions = {m.__name__: m.__version__ for m in (chemicals, fluids, mp, nx, np, scipy, statsmodels, uncertainties)}


def group(name, against, n, draw):
    rows = []
    while len(rows) < n:
        row = draw()
        if row is not None:
            rows.append([[float(x) for x in row[0]], [float(x) for x in row[1]]])
    library = against.split(":")[0].split(" ")[0]
    if library in versions:
        against = against.replace(library, f"{library} {versions[library]}", 1)
    groups[name] = {"against": against, "rows": rows}


def u_of(x, low=0.001, high=0.1):
    return abs(x) * uni(low, high)


EXACT = "second formulation in fractions"
MP = f"second formulation in 50 digits (mpmath {mp.__version__})"

# --- viscosity --------------------------------------------------------------------------------------------------
TERMS = [(1, "-1.14883", "-2.65868"), (-1, "-0.00381308", "-12.5645"), (1, "5.46491", "-37.6289"),
         (-1, "13.0458", "-74.6851"), (1, "37.4619", "-192.643"), (-1, "80.4945", "-400.468")]
KEPT = [0, 1, 2, 3, 5, 6]
LOWEST = [2.0, 1.65, 0.9, 0.3, 0.24, 0.21, 0.21]


def z(nu, terms):
    nu = mp.mpf(nu)
    if terms == 6:
        return nu + mp.mpf("0.7") + mp.exp(mp.mpf("-1.47") - mp.mpf("1.84") * nu - mp.mpf("0.51") * nu**2)
    return nu + mp.mpf("0.7") + sum(s * mp.exp(mp.mpf(a) + mp.mpf(b) * nu) for s, a, b in TERMS[:KEPT[terms]])


def from_z(target, terms):
    low, high = mp.mpf(LOWEST[terms]) * mp.mpf("0.999"), mp.mpf(target) + 1
    for _ in range(170):
        mid = (low + high) / 2
        low, high = (mid, high) if z(mid, terms) < target else (low, mid)
    return mid


w_of = lambda nu, terms=5: mp.log10(mp.log10(z(nu, terms)))


def walther():
    terms, nu = rnd.randrange(7), log(0.21, 1e6)
    if nu < LOWEST[terms]:
        return None
    y = z(nu, 6) - mp.mpf("0.7")
    short = y - mp.exp(mp.mpf("-0.7487") - mp.mpf("3.295") * y + mp.mpf("0.6119") * y**2 - mp.mpf("0.3193") * y**3)
    return [terms, nu, z(nu, 6)], [z(nu, terms), nu, short if short > 0.2101 else -999]


def least_squares(points, terms):
    xs, ws = [mp.log10(mp.mpf(t) + mp.mpf("273.15")) for t, _ in points], [w_of(nu, terms) for _, nu in points]
    xm, wm = sum(xs) / len(xs), sum(ws) / len(ws)
    b = -sum((x - xm) * (w - wm) for x, w in zip(xs, ws)) / sum((x - xm) ** 2 for x in xs)
    rest = sum((w - wm + b * (x - xm)) ** 2 for x, w in zip(xs, ws))
    return wm + b * xm, b, rest


def curve_terms():
    """Three points with any terms: A, B, scatter, viscosity at t."""
    terms, kv100 = rnd.randrange(7), log(3, 30)
    points = [(20.0, kv100 * uni(12, 20)), (40.0, kv100 * uni(5, 7)), (100.0, kv100)]
    a, b, rest = least_squares(points, terms)
    t = uni(10, 110)
    nu = from_z(mp.power(10, mp.power(10, a - b * mp.log10(mp.mpf(t) + mp.mpf("273.15")))), terms)
    return [terms] + [v for p in points for v in p] + [t], [a, b, mp.sqrt(rest), nu]


def window():
    kv100 = log(2, 30)
    points = [(40.0, kv100 * uni(2, 9)), (100.0, kv100)]
    a, b, _ = least_squares(points, 5)
    temp = lambda nu: mp.power(10, (a - w_of(nu)) / b) - mp.mpf("273.15")
    nu, share = log(4, 200), uni(0.01, 0.2)
    t, cold, hot = temp(nu), temp(nu * (1 + share)), temp(nu * (1 - share))
    return ([points[0][1], kv100, nu, nu * share], [t, cold, hot, min(t - cold, hot - t)]) if -100 < cold < hot < 300 else None


def share_of_thinner():
    thin = log(0.5, 500)
    thick, x = thin * uni(1.2, 50), rnd.random()
    mixed = float(from_z(mp.power(10, mp.power(10, x * w_of(thin) + (1 - x) * w_of(thick))), 5))
    return [thin, thick, mixed], [(w_of(thick) - w_of(mixed)) / (w_of(thick) - w_of(thin))]


group("d341 transform: terms, nu, Z short -> Z, nu, nu by the explicit inverse", MP, 80, walther)
group("d341 terms: terms, 3 x (t, nu), t -> A, B, scatter, nu", MP, 40, curve_terms)
group("d341 window: kv40, kv100, nu, tolerance -> t, coldest, hottest, half-width", MP, 40, window)
group("blend inverse: thin, thick, mixture -> share", MP, 60, share_of_thinner)

def oil_u():
    """Blend, share and Saybolt time by derivatives in 50 digits."""
    a = log(2, 400)
    b, x = a * uni(1.3, 30), uni(0.05, 0.95)
    ua, ub, ux = u_of(a, 0.001, 0.02), u_of(b, 0.001, 0.02), uni(0, 0.05)
    mixed = lambda a, b, x: from_z(mp.power(10, mp.power(10, x * w_of(a) + (1 - x) * w_of(b))), 5)
    m = float(mixed(a, b, x))
    um = u_of(m, 0.001, 0.01)
    back = lambda a, b, m: (w_of(b) - w_of(m)) / (w_of(b) - w_of(a))
    sus = lambda nu: mp.mpf("4.6324") * nu + (1 + mp.mpf("0.03264") * nu) / (
        (mp.mpf("3930.2") + mp.mpf("262.7") * nu + mp.mpf("23.97") * nu**2 + mp.mpf("1.646") * nu**3) * mp.mpf("1e-5"))

    def spread(f, at, us):
        part = lambda i: mp.diff(lambda v: f(*[v if j == i else mp.mpf(at[j]) for j in range(len(at))]), mp.mpf(at[i]), h=mp.mpf("1e-15"))
        return mp.sqrt(sum((part(i) * u) ** 2 for i, u in enumerate(us)))

    slope = mp.diff(sus, mp.mpf(a))
    return ([a, ua, b, ub, x, ux, m, um],
            [spread(mixed, (a, b, x), (ua, ub, ux)), spread(back, (a, b, m), (ua, ub, um)), slope * ua, sus(mp.mpf(a)), slope * ua / slope])


group("oil uncertainty: thin, u, thick, u, share, u, mixture, u -> u(blend), u(share), u(SUS), SUS, u(nu)", MP + ", by differences", 40, oil_u)

VI = lambda u, y: chemicals.viscosity.viscosity_index(u * 1e-6, y * 1e-6)


def index_inverse():
    y, vi = log(2.1, 300), uni(0, 250)
    try:
        u = optimize.brentq(lambda u: VI(u, y) - vi, y * 1.001, y * 400, xtol=1e-13, rtol=1e-14)
    except ValueError:
        return None
    return [y, vi], [u]


def index_uncertainty():
    y = log(3, 60)
    u = y * uni(3, 12)
    du, dy = u * uni(0.0005, 0.002), y * uni(0.0005, 0.002)
    result = uncertainties.wrap(VI)(ufloat(u, du), ufloat(y, dy))
    return [u, du, y, dy], [result.std_dev]


group("d2270 inverse: kv100, VI -> kv40", "chemicals: viscosity_index, inverted by scipy's brentq", 60, index_inverse)
group("d2270 uncertainty: kv40, u, kv100, u -> u(VI)", "uncertainties with chemicals' viscosity_index", 40, index_uncertainty)

# Midpoints as ISO 3448 prints them; limits of SAE J300. The same tables, read another way.
VG = [2.2, 3.2, 4.6, 6.8, 10, 15, 22, 32, 46, 68, 100, 150, 220, 320, 460, 680, 1000, 1500, 2200, 3200]


def iso_class():
    nu = log(1, 4000)
    nearest = min(range(20), key=lambda i: abs(math.log(nu / VG[i])))
    inside = 0.9 * VG[nearest] <= nu <= 1.1 * VG[nearest]
    below = sum(1 for m in VG if 1.1 * m < nu)
    m = VG[nearest]
    return [nu, nearest], [VG[nearest] if inside else -999, below, m, 0.9 * m, 1.1 * m]


SAE = [{"20": (5.6, 9.3)}, {"16": (6.1, 8.2), "20": (6.9, 9.3)},
       {"8": (4.0, 6.1), "12": (5.0, 7.1), "16": (6.1, 8.2), "20": (6.9, 9.3)}]
SUMMER = {"30": (9.3, 12.5), "40": (12.5, 16.3), "50": (16.3, 21.9), "60": (21.9, 26.1)}


def engine():
    edition, nu = rnd.randrange(3), uni(3, 28)
    names = [k for k, (a, b) in (SAE[edition] | SUMMER).items() if a <= nu < b]
    lows = [(SAE[edition] | SUMMER)[k] for k in names]
    return [edition, nu], [len(names), sum(int(k) for k in names), sum(a for a, _ in lows), sum(b for _, b in lows)]


group("iso 3448: nu at 40 -> class, classes below, midpoint, limits", "second formulation: nearest midpoint", 120, iso_class)
group("sae j300: edition, nu at 100 -> grades, sum of names and of limits", "second formulation: dictionary of limits", 120, engine)

# --- density ------------------------------------------------------------------------------------------------------
SHIFT = [mp.mpf(x) for x in "-0.148759 -0.267408 1.080760 1.269056 -4.089591 -1.871251 7.438081 -3.536296".split()]
CONSTANTS = [("0", "0.34878", 800.9, 1163.5), ("103.872", "0.2701", 838.3127, 1163.5),
             ("330.301", "0", 787.5195, 838.3127), ("341.0957", "0", 610.6, 1163.5)]


def t68_f(c):
    tau = mp.mpf(c) / 630
    return (mp.mpf(c) - sum(a * tau ** (i + 1) for i, a in enumerate(SHIFT))) * mp.mpf("1.8") + 32


def star_alpha(k0, k1, rho):
    d60 = mp.mpf("0.01374979547")
    a = d60 / 2 * ((k0 / rho + k1) / rho)
    b = (2 * k0 + k1 * rho) / (k0 + k1 * rho)
    star = rho * (1 + (mp.exp(a * (1 + mp.mpf("0.8") * a)) - 1) / (1 + a * (1 + mp.mpf("1.6") * a) * b))
    return star, (k0 / star + k1) / star


def ctl(k0, k1, rho, c):
    _, alpha = star_alpha(k0, k1, rho)
    dt = t68_f(c) - mp.mpf("60.0068749")
    return mp.exp(-alpha * dt * (1 + mp.mpf("0.8") * alpha * (dt + mp.mpf("0.01374979547"))))


def rho60_of(which, measured, t):
    k0, k1 = mp.mpf(CONSTANTS[which][0]), mp.mpf(CONSTANTS[which][1])
    return mp.findroot(lambda r: r * ctl(k0, k1, r, t) - measured, mp.mpf(measured))


def density_more():
    which, measured, t1, t2, kpa = rnd.randrange(4), uni(790, 1100), uni(-20, 120), uni(-50, 150), uni(0, 10000)
    k0, k1, low, high = mp.mpf(CONSTANTS[which][0]), mp.mpf(CONSTANTS[which][1]), CONSTANTS[which][2], CONSTANTS[which][3]
    rho60 = rho60_of(which, measured, t1)
    if not low < rho60 < high:
        return None
    star, alpha = star_alpha(k0, k1, rho60)
    f = t68_f(t2)
    per_psi = mp.mpf("1e-5") * mp.exp(mp.mpf("-1.9947") + mp.mpf("0.00013427") * f + (793920 + 2326 * f) / star**2)
    psi = mp.mpf(kpa) * 1000 / (mp.mpf("4.4482216152605") / mp.mpf("0.0254") ** 2)
    rho = rho60 * ctl(k0, k1, rho60, t2)
    return ([which, measured, t1, t2, kpa],
            [ctl(k0, k1, rho60, t2), alpha * mp.mpf("1.8"), rho / (1 - per_psi * psi), (f - 32) / mp.mpf("1.8")])


def density_uncertainty():
    """Derivatives of the whole chain by differences in 50 digits: measured density, temperature, expansion."""
    which, measured, t1, t2 = rnd.randrange(2), uni(850, 950), uni(5, 60), uni(-20, 130)
    u_rho, u_t, u_a = uni(0, 2), uni(0, 1), uni(0, 0.1)
    k0, k1 = mp.mpf(CONSTANTS[which][0]), mp.mpf(CONSTANTS[which][1])

    def factor(rho, c, s):
        _, alpha = star_alpha(k0, k1, rho)
        alpha, dt = alpha * (1 + s), t68_f(c) - mp.mpf("60.0068749")
        return mp.exp(-alpha * dt * (1 + mp.mpf("0.8") * alpha * (dt + mp.mpf("0.01374979547"))))

    def end(measured, t, s):
        rho = mp.findroot(lambda r: r * factor(r, t1, s) - measured, mp.mpf(measured))
        return rho * factor(rho, t, s)

    h = mp.mpf("1e-12")
    d_rho = (end(measured + h, t2, 0) - end(measured - h, t2, 0)) / (2 * h)
    d_t = (end(measured, t2 + h, 0) - end(measured, t2 - h, 0)) / (2 * h)
    d_a = (end(measured, t2, h) - end(measured, t2, -h)) / (2 * h)
    return [which, measured, t1, t2, u_rho, u_t, u_a], [mp.sqrt((d_rho * u_rho) ** 2 + (d_t * u_t) ** 2 + (d_a * u_a) ** 2)]


def table_54d():
    rho, t = uni(801, 1163), uni(-50, 150)
    rise = mp.mpf("0.6278") / mp.mpf(rho) * (mp.mpf(t) - 15)
    return [rho, t], [rho * mp.exp(-rise * (1 + mp.mpf("0.8") * rise))]


group("density more: group, rho, t1, t2, kPa -> CTL, alpha60, rho(t2, p), t2 on IPTS-68", MP, 60, density_more)
group("density uncertainty: group, rho, t1, t2, u(rho), u(t), u(alpha)/alpha -> u", MP + ", by differences", 40, density_uncertainty)
group("table 54d: rho15, t -> rho", MP, 40, table_54d)


def converter():
    nu, rho = log(0.5, 5000), uni(700, 1200)
    mu = fluids.nu_mu_converter(rho=rho, nu=nu * 1e-6)
    return [nu, rho], [mu, fluids.nu_mu_converter(rho=rho, mu=mu) * 1e6]


group("dynamic viscosity: nu, rho -> mu, nu", "fluids: nu_mu_converter", 40, converter)


def api():
    degrees = uni(-10, 60)
    sg = chemicals.API_to_SG(degrees)
    return [degrees], [sg * 999.016, chemicals.SG_to_API(sg)]


group("api gravity: degrees -> rho60, degrees", "chemicals: API_to_SG, SG_to_API", 40, api)

# --- hydraulics ---------------------------------------------------------------------------------------------------
g0 = 9.80665


def pipe_numbers():
    q, d, nu = log(0.5, 300), uni(6, 50), log(1, 1000)
    v = q / 6e4 / (math.pi / 4 * (d / 1e3) ** 2)
    return [q, d, nu], [v, fluids.Reynolds(V=v, D=d / 1e3, nu=nu / 1e6)]


def friction():
    re, rough = log(4000, 1e7), rnd.choice([0.0, log(1e-6, 0.05)])
    f = fluids.friction
    exact = fluids.friction_factor(Re=re, eD=rough, Method="Colebrook")
    blasius = f.Blasius(re) if rough == 0 and re <= 1e5 else -999
    # The library prints Swamee and Jain's constant as 6.97 to the power 0.9.
    return [re, rough], [exact, f.Haaland(re, rough), f.Swamee_Jain_1976(re, rough), f.Churchill_1977(re, rough), blasius]


def transitional():
    re, rough = uni(2301, 3999), rnd.choice([0.0, log(1e-5, 0.03)])
    x = mp.findroot(lambda x: x + 2 * mp.log10(mp.mpf(rough) / mp.mpf("3.7") + mp.mpf("2.51") * x / re), mp.mpf(5))
    both = sorted([64 / mp.mpf(re), 1 / x**2])
    d, nu, rho = uni(6, 30), log(2, 500), uni(780, 920)
    q = re * math.pi * (d / 1e3) * nu * 1e-6 / 4
    v = q / (math.pi / 4 * (d / 1e3) ** 2)
    return [re, rough, q * 6e4, d, nu, rho], both + [f * 1000 / d * rho * v * v / 2 for f in both]


def minor():
    k, rho, v = uni(0, 20), uni(700, 1100), log(0.01, 20)
    return [k, rho, v], [fluids.dP_from_K(K=k, rho=rho, V=v)]


group("bore: L/min, mm, mm2/s -> v, Re", "fluids: Reynolds", 60, pipe_numbers)
group("friction: Re, roughness -> Colebrook, Haaland, Swamee and Jain, Churchill, Blasius", "fluids: friction_factor and its formulas", 120, friction)
group("transitional: Re, roughness, L/min, mm, mm2/s, rho -> f, f, Pa, Pa per m", MP, 60, transitional)
group("minor loss: K, rho, v -> Pa", "fluids: dP_from_K", 40, minor)


def openings():
    c, d, p, rho = uni(0.4, 1), uni(0.5, 20), log(0.1, 2000), uni(700, 1100)
    # Torricelli with the head of the same liquid: v = sqrt(2 g h), h = p/(rho g).
    h = p * 1e3 / (rho * g0)
    q = c * math.pi * (d / 2e3) ** 2 * math.sqrt(2 * g0 * h)
    return [c, d, p, rho], [q * 6e4, p, h * rho * g0 / 1e3, h]


def bubble():
    d, sigma, cos, p, depth, rho, ref = uni(0.5, 100), uni(15, 75), uni(0.05, 1), uni(2, 40), uni(0, 60), uni(700, 1100), uni(15, 75)
    # A balance of forces on the rim of a round pore: sigma cos(theta) pi d = p pi d^2/4.
    net = optimize.brentq(lambda p: p * math.pi * (d * 1e-6) ** 2 / 4 - sigma * 1e-3 * cos * math.pi * d * 1e-6, 1e-3, 1e9, xtol=1e-9, rtol=1e-15)
    left = Fraction(p) * 1000 - Fraction(rho) * Fraction(g0) * Fraction(depth) / 1000
    if left <= 0:
        return None
    return [d, sigma, cos, p, depth, rho, ref], [net, d, float(left), p * 1000 * ref / sigma]


def inlet():
    over, head, loss = uni(80, 110), uni(-20, 20), uni(0, 50)
    return [over, head, loss], [float(Fraction(over) + Fraction(head) - Fraction(loss))]


group("orifice: C, mm, kPa, rho -> L/min, kPa, head in kPa of its height in m", "second formulation: Torricelli's head", 40, openings)
group("bubble: um, mN/m, cos, kPa, mm, rho, mN/m -> Pa, um, net Pa, normalised Pa", "second formulation: balance of forces, scipy's brentq", 60, bubble)
group("pump inlet: kPa over oil, head, loss -> kPa", EXACT, 30, inlet)


def line_u():
    """u(dP) by differences of an independent implementation (fluids' Colebrook, 64/Re below)."""
    q, d, length, nu, rho, eps = log(0.5, 300), uni(6, 50), uni(0.1, 10), log(1, 1000), uni(780, 920), rnd.choice([1.5e-6, 4.5e-5])
    us = [u_of(x, 0.001, 0.03) for x in (q, d, length, nu, rho)] + [eps * uni(0, 0.3)]
    re = q / 6e4 * 4 / (math.pi * d / 1e3 * nu * 1e-6)
    if 2000 < re < 4300 or re > 1e7:
        return None

    def dp(q, d, length, nu, rho, eps):
        v = q / 6e4 / (mp.pi / 4 * (d / 1e3) ** 2)
        re = v * d / 1e3 / (nu * mp.mpf("1e-6"))
        if re < 2300:
            f = 64 / re
        else:
            x = mp.findroot(lambda x: x + 2 * mp.log10(eps / (d / 1e3) / mp.mpf("3.7") + mp.mpf("2.51") * x / re), mp.mpf(6))
            f = 1 / x**2
        return f * length / (d / 1e3) * rho * v * v / 2

    at = [mp.mpf(x) for x in (q, d, length, nu, rho, eps)]
    h = mp.mpf("1e-15")
    total = mp.mpf(0)
    for i, u in enumerate(us):
        hi, lo = list(at), list(at)
        hi[i], lo[i] = at[i] * (1 + h), at[i] * (1 - h)
        total += ((dp(*hi) - dp(*lo)) / (2 * h * at[i]) * u) ** 2
    return [q, d, length, nu, rho, eps] + us, [mp.sqrt(total)]


group("line loss uncertainty: Q, D, L, nu, rho, eps, 6 u -> u(dP) in Pa", MP + ", by differences", 60, line_u)


def line_u_transitional():
    re, d, nu, rho, length = uni(2320, 3980), uni(6, 30), log(2, 500), uni(780, 920), uni(0.1, 5)
    q = re * math.pi * (d / 1e3) * nu * 1e-6 / 4 * 6e4
    us = [u_of(x, 0.001, 0.02) for x in (q, d, length, nu, rho)]
    Q, D, L, N, R = (ufloat(x, u) for x, u in zip((q, d, length, nu, rho), us))
    v = Q / 6e4 / (math.pi / 4 * (D / 1e3) ** 2)
    reynolds = v * (D / 1e3) / (N * 1e-6)
    colebrook = uncertainties.wrap(lambda re: optimize.brentq(lambda x: x + 2 * math.log10(2.51 * x / re), 1, 40, xtol=1e-14) ** -2)
    per = L / (D / 1e3) * R * v * v / 2
    both = sorted([64 / reynolds * per, colebrook(reynolds) * per], key=lambda p: p.nominal_value)
    return [q, d, length, nu, rho] + us, [p.std_dev for p in both]


group("line loss uncertainty transitional: Q, D, L, nu, rho, 5 u -> u, u in Pa", "uncertainties with scipy's brentq", 40, line_u_transitional)


def pump():
    p, q, rho, c, volume = uni(1, 2000), uni(1, 200), uni(780, 950), uni(1700, 2200), uni(1, 100)
    us = [u_of(x) for x in (p, q, rho, c)]
    P, Q, R, C = (ufloat(x, u) for x, u in zip((p, q, rho, c), us))
    power, rise = P * 1e3 * Q / 6e4, P * 1e3 / (R * C)
    return ([p, q, rho, c, volume] + us, [power.nominal_value, power.std_dev, rise.nominal_value, rise.std_dev, volume * 1e-3 * rho * c])


def bath():
    c, p, h, room, t0 = log(1e4, 2e5), uni(200, 4000), rnd.choice([0.0, uni(1, 60)]), uni(10, 30), uni(10, 60)
    wanted = t0 + uni(0.5, 50)
    end = room + p / h if h else math.inf
    if wanted >= end - 0.5:
        return None
    # The time is the integral of C/(P - h (T - room)) over the temperature.
    time = integrate.quad(lambda T: c / (p - h * (T - room)), t0, wanted, epsrel=1e-13, epsabs=0)[0]
    return [c, p, h, room, t0, wanted], [time, end if h else -999, c / h if h else -999]


def bath_u():
    c, p, h, room, t0, time = log(1e4, 2e5), uni(-500, 4000), rnd.choice([1e-9, uni(1, 60)]), uni(10, 30), uni(10, 60), log(60, 2e4)
    uc, up, uh, ur, u0 = u_of(c), u_of(p), (u_of(h) if h > 1e-6 else 0.5), uni(0, 2), uni(0, 2)
    C, P, H, R, T0 = (mp.mpf(x) for x in (c, p, h, room, t0))

    def end(C, P, H, R, T0):
        settled = R + P / H
        return settled + (T0 - settled) * mp.exp(-H * time / C)

    if not -100 < end(C, P, H, R, T0) < 900:
        return None
    at, total = [C, P, H, R, T0], mp.mpf(0)
    for i, u in enumerate([uc, up, uh, ur, u0]):
        slope = mp.diff(lambda x: end(*[x if j == i else at[j] for j in range(5)]), at[i], h=abs(at[i]) * mp.mpf("1e-14"))
        total += (slope * u) ** 2
    tau = (ufloat(c, uc) / ufloat(h, uh)).std_dev
    return [c, p, h, room, t0, time, uc, up, uh, ur, u0], [mp.sqrt(total), tau]


group("pump: kPa, L/min, rho, c, L, 4 u -> W, u, K, u, J/K", "uncertainties", 40, pump)
group("bath: C, P, h, room, t0, t -> s, settles at, time constant", "scipy: quad over the temperature", 40, bath)
group("bath uncertainty: C, P, h, room, t0, s, 5 u -> u(t), u(time constant)", MP + ", by differences", 60, bath_u)


def sweep(n):
    k1, k2 = log(0.01, 2), log(1e-4, 1e-2)
    q = sorted(uni(2, 120) for _ in range(n))
    return q, [(k1 * x + k2 * x * x) * (1 + rnd.gauss(0, 0.01)) for x in q]


def viscous_only():
    q, p = sweep(6)
    fit = sm.OLS(np.array(p), np.array(q)[:, None]).fit()
    return q + p, [fit.params[0], math.sqrt(fit.mse_resid), fit.bse[0] ** 2, fit.df_resid]


def curve_use():
    q, p = sweep(7)
    X = np.array([[x, x * x] for x in q])
    fit = sm.OLS(np.array(p), X).fit()
    k1, k2 = fit.params
    if min(k1, k2) <= 0:
        return None
    at, uq, dp, u_dp = uni(2, 150), uni(0, 3), uni(0.5, 60), uni(0, 2)
    covered = lambda x: 0 if x <= q[-1] else x - q[-1]
    flow = max(np.roots([k2, k1, -dp]).real)
    K1, K2 = uncertainties.correlated_values(fit.params, fit.cov_params())
    Q = ufloat(at, uq)
    read = K1 * Q + K2 * Q * Q
    D = ufloat(dp, u_dp)
    knee = (-K1 + umath.sqrt(K1 * K1 + 4 * K2 * D)) / (2 * K2)
    return ([at, uq, dp, u_dp] + q + p, [read.nominal_value, covered(at), read.std_dev, k1 * at / read.nominal_value, flow,
            covered(flow), knee.std_dev, math.sqrt(fit.mse_resid)])


def tare():
    (q, p), (r, s) = sweep(6), sweep(6)
    X = lambda q: np.array([[x, x * x] for x in q])
    a, b = sm.OLS(np.array(p), X(q)).fit(), sm.OLS(np.array(s), X(r)).fit()
    c = a.cov_params() + b.cov_params()
    k = a.params - b.params
    return q + p + r + s, [k[0], k[1], c[0, 0], c[0, 1], c[1, 1], math.sqrt(a.mse_resid + b.mse_resid)]


def fluid_change():
    m1, m2, r1, r2, p = log(0.005, 0.1), log(0.01, 1), uni(780, 920), uni(780, 920), uni(1, 100)
    s1, s2 = sorted([rnd.random(), rnd.random()])
    at = lambda s: p * (s * m2 / m1 + (1 - s) * r2 / r1)
    k1, k2, q = log(0.01, 2), log(1e-4, 1e-2), uni(2, 100)
    there = k1 * m2 / m1 * q + k2 * r2 / r1 * q * q
    # Restated: part by part.
    viscous, inertial = k1 * q, k2 * q * q
    restated = p * (viscous * m2 / m1 + inertial * r2 / r1) / (viscous + inertial)
    ends = sorted([at(s1), at(s2)])
    open_ends = sorted([at(0.5), at(1.0)])
    return [m1, r1, m2, r2, p, s1, s2, k1, k2, q], ends + open_ends + [there, restated]


def cold_u():
    m1, m2, r1, r2, p = log(0.005, 0.1), log(0.01, 1), uni(780, 920), uni(780, 920), uni(1, 100)
    us = [u_of(x) for x in (m1, r1, m2, r2, p)]
    s1, s2 = sorted([rnd.random(), rnd.random()])
    M1, R1, M2, R2, P = (ufloat(x, u) for x, u in zip((m1, r1, m2, r2, p), us))
    known = lambda s: P * (s * M2 / M1 + (1 - s) * R2 / R1)
    one = known(s1)
    # A share anywhere between two ends: the standard deviation of scipy's uniform law.
    spread = lambda a, b: known(ufloat((a + b) / 2, stats.uniform(a, b - a).std()))
    two, three = spread(s1, s2), spread(0.5, 1.0)
    return [m1, r1, m2, r2, p] + us + [s1, s2], [x for y in (one, two, three) for x in (y.nominal_value, y.std_dev)]


group("viscous fit: 6 x Q, 6 x dP -> k1, s, var, dof", "statsmodels: OLS", 30, viscous_only)
group("sweep in use: Q, u, dP, u, 7 x Q, 7 x dP -> dP, above, u, share, Q, above, u, s", "statsmodels: OLS, with uncertainties and numpy.roots", 40, curve_use)
group("tare: two sweeps of 6 -> k1, k2, var, cov, var, s", "statsmodels: OLS", 30, tare)
group("another fluid: mu1, rho1, mu2, rho2, kPa, s, s, k1, k2, Q -> ends, ends unknown, moved, restated", "second formulation: part by part", 40, fluid_change)
group("another fluid uncertainty: mu1, rho1, mu2, rho2, kPa, 5 u, s, s -> 3 x (value, u)", "uncertainties with scipy's uniform law", 40, cold_u)

# --- dust ---------------------------------------------------------------------------------------------------------
def distribution():
    sizes = sorted(log(1, 150) for _ in range(6))
    if min(b / a for a, b in zip(sizes, sizes[1:])) < 1.05:
        return None
    mid = sorted(uni(0.02, 0.95) for _ in range(5)) + [1.0]
    low = [max(0.0, f - uni(0, 0.05)) for f in mid[:5]] + [uni(0.98, 1.0)]
    high = [min(1.0, f + uni(0, 0.05)) for f in mid[:5]] + [1.0]
    for i in range(1, 6):
        low[i], high[i] = max(low[i], low[i - 1]), max(high[i], high[i - 1])
    return sizes, low, high


def per_share(a, b, x):
    """Particles above x per um3 of dust spread evenly in log size between a and b, by quadrature."""
    low = max(a, x)
    if low >= b:
        return 0.0
    return integrate.quad(lambda s: 1 / math.log(b / a) / (math.pi / 6 * math.exp(s) ** 3), math.log(low), math.log(b),
                          epsrel=1e-12, epsabs=0)[0]


def midway():
    made = distribution()
    if made is None:
        return None
    sizes, low, high = made
    shares = [(a + b) / 2 for a, b in zip(low, high)]
    shares = [s / shares[-1] for s in shares]
    x, f = log(sizes[0], sizes[-1]), uni(shares[0], 1)
    finer = np.interp(math.log(x), np.log(sizes), shares)
    size = optimize.brentq(lambda v: np.interp(math.log(v), np.log(sizes), shares) - f, sizes[0], sizes[-1], xtol=1e-13, rtol=1e-14)
    number = sum((fb - fa) * per_share(a, b, x) for a, b, fa, fb in zip(sizes, sizes[1:], shares, shares[1:]))
    # 1 mg/L at 2.65 g/cm3 is 1e9/2.65 um3 in 1000 mL.
    return sizes + low + high + [x, f], [finer, size, number * 1e6 / 2.65]


def grade_limits():
    made = distribution()
    if made is None:
        return None
    sizes, low, high = made
    x = log(sizes[0], sizes[-1] * 0.99)
    weights = [per_share(a, b, x) for a, b in zip(sizes, sizes[1:])]
    c = np.array([(weights[i - 1] if i else 0) - (weights[i] if i < 5 else 0) for i in range(6)]) * 1e9 / 2.65
    falling = [[1.0 if j == i else -1.0 if j == i + 1 else 0.0 for j in range(6)] for i in range(5)]
    bounds = list(zip(low[:5], high[:5])) + [(1.0, 1.0)]
    scale = np.abs(c).max()
    least = optimize.linprog(c / scale, A_ub=falling, b_ub=[0] * 5, bounds=bounds, method="highs")
    most = optimize.linprog(-c / scale, A_ub=falling, b_ub=[0] * 5, bounds=bounds, method="highs")
    return sizes + low + high + [x], [least.fun * scale, -most.fun * scale]


def slurry():
    m, v, rho, qi, q, cap, dead, k = uni(0.1, 50), uni(0.5, 50), uni(2000, 4000), uni(0.05, 1), uni(5, 200), uni(1, 100), uni(0, 3), uni(1, 2)
    us = [u_of(x) for x in (m, v, rho, qi, q)]
    M, V, R, QI, Q = (ufloat(x, u) for x, u in zip((m, v, rho, qi, q), us))
    c = M / (V + M / R)                 # g/L, rho in g/L
    g = c * QI / Q * 1000               # mg/L
    minutes = cap * 1000 / (g * Q)
    return ([m, v, rho, qi, q, cap, dead, k] + us,
            [c.nominal_value, c.std_dev, g.nominal_value, g.std_dev, (g * Q / QI / 1000).nominal_value, minutes.nominal_value,
             minutes.nominal_value * qi * k + dead, c.nominal_value * v])


def carry():
    line, fall, readability, s = uni(0, 5), log(1e-6, 1e-2), log(1e-4, 1), uni(0, 0.5)
    reading = lambda: ufloat(0, stats.uniform(-readability / 2, readability).std()) + ufloat(0, s)
    return [line, fall, readability, s], [float(Fraction(line) / Fraction(fall)), (reading() - reading()).std_dev]


group("dust midway: 6 sizes, 6 low, 6 high, size, share -> finer, size, per mL at 1 mg/L", "scipy: quad and brentq; numpy.interp", 40, midway)
group("dust within limits: 6 sizes, 6 low, 6 high, size -> fewest, most per mg", "scipy: linprog (HiGHS) and quad", 60, grade_limits)
group("slurry: g, L, kg/m3, L/min, L/min, g, L, k, 5 u -> g/L, u, mg/L, u, g/L, min, L, g", "uncertainties", 40, slurry)
group("carrying and weighing: m/s, m/s, readability, repeatability -> multiple, u", "uncertainties with scipy's uniform law", 30, carry)

# --- the loop -----------------------------------------------------------------------------------------------------
def closed_loop():
    v, q, e, t, m, g = uni(5, 100), uni(5, 100), uni(0.05, 1), uni(0.1, 20), uni(0.1, 10), uni(1, 20)
    n0, r, left = log(1e2, 1e6), log(1e4, 1e8), log(1e-4, 0.9)
    run = lambda slope, start: solve_ivp(slope, (0, t), [start], method="DOP853", rtol=1e-13, atol=1e-30).y[0, -1]
    share = run(lambda s, y: -q * e / v * y, 1.0)
    tank = run(lambda s, y: (g * q - q * e * y) / v, 0.0)
    # At the inlet: what comes back from the tank plus the base level; the filter sees c + g.
    inlet = g + run(lambda s, y: (-q * e * y + q * (1 - e) * g) / v, 0.0)
    number = run(lambda s, y: (r / 1e3 - q * e * y) / v, n0)          # per mL, r per min
    floor = r / 1e3 / (q * e)
    target = floor + (n0 - floor) * uni(0.01, 0.9) if n0 > floor else -999
    against = integrate.quad(lambda y: v / (q * e * y - r / 1e3), target, n0, epsrel=1e-13, epsabs=0, limit=500)[0] if target > 0 else -999
    if against > 0 and target < floor * 1.001:
        return None
    clean = integrate.quad(lambda s: v / (q * e) * 1.0, math.log(left), 0, epsrel=1e-13)[0]
    return ([v, q, e, t, m, g, n0, r, left, target],
            [share, m / v * share, tank, inlet, number, floor, clean, clean * q / v, against, v / q, v / (q * e),
             v / (q * e) * math.log(2), t * q / v, g * (1 - e)])


def loop_u():
    v, q, e, t = uni(5, 100), uni(5, 100), uni(0.05, 1), uni(0.1, 5)
    us = [u_of(v), u_of(q), u_of(e)]
    V, Q, E = (ufloat(x, u) for x, u in zip((v, q, e), us))
    tau = V / (Q * E)
    left = umath.exp(-t / tau)
    return [v, q, e, t] + us, [tau.std_dev, left.std_dev]


def line_delay():
    v, q = uni(0.1, 10), uni(1, 100)
    # The profile of Hagen and Poiseuille: the mean over the area of 2 (1 - r^2) is 1, its most 2.
    mean = 2 * integrate.quad(lambda r: r * 2 * (1 - r * r), 0, 1)[0]
    return [v, q], [v / q * 60 / mean, v / q * 60 / 2]


def removal():
    rate, v, q = uni(0.05, 0.8), uni(5, 100), uni(5, 100)
    u_rate, u_turnover = u_of(rate), uni(0, 0.1)
    e = ufloat(rate, u_rate) * ufloat(v / q, v / q * u_turnover)
    return [rate, u_rate, v, q, u_turnover], [e.nominal_value, e.std_dev]


def bottles():
    v, taken, tank, dose = Fraction(uni(10, 50)), Fraction(uni(0.1, 5)), Fraction(uni(0, 2)), Fraction(uni(0, 2))
    held = tank + dose
    gone = held * taken / v
    return [v, taken, tank, dose], [v - taken, held - gone, gone, held, (held - gone) / (v - taken)]


group("closed loop: L, L/min, E, min, g, mg/L, 1/mL, 1/min, share, target -> 14 closed forms", "scipy: solve_ivp (DOP853) and quad", 60, closed_loop)
group("closed loop uncertainty: L, L/min, E, min, 3 u -> u(tau), u(remaining)", "uncertainties", 40, loop_u)
group("line delay: L, L/min -> mean, first in laminar flow (s)", "scipy: quad over the profile", 20, line_delay)
group("removal: rate, u, L, L/min, u -> E, u", "uncertainties", 30, removal)
group("bottles: L, L taken, g, g dosed -> L, tank, withdrawn, total, level", EXACT, 30, bottles)

# --- counting -----------------------------------------------------------------------------------------------------
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

# --- ratio --------------------------------------------------------------------------------------------------------
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

# --- cleanliness --------------------------------------------------------------------------------------------------
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

# --- capacity -----------------------------------------------------------------------------------------------------
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

# --- uncertainty --------------------------------------------------------------------------------------------------
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

# --- regression, comparison -----------------------------------------------------------------------------------------
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

print('{\n"made with": ' + json.dumps(versions) + ',\n"groups": {')
print(",\n".join(f'{json.dumps(name)}: {{"against": {json.dumps(g["against"])}, "rows": [\n' +
                 ",\n".join(json.dumps(r, allow_nan=False) for r in g["rows"]) + "\n]}" for name, g in groups.items()))
print("}}")
