"""Random inputs and the answers of independent implementations, for the differential test of the physics.

    pip install chemicals fluids scipy mpmath numpy
    python3 tests/published/reference/physics.py > tests/published/reference/physics.json

Where a library has the relation, the library answers; where none has it, a second formulation in 50-digit arithmetic
does, written from the published formula and not from our code. Every case is [inputs, outputs], in the units named.
"""

import json
import math
import platform
import random

import chemicals
import fluids
import mpmath as mp
import numpy as np
import scipy
from scipy.integrate import quad, solve_ivp
from scipy.stats import linregress

mp.mp.dps = 50
rnd = random.Random(20260101)
log_uniform = lambda a, b: math.exp(rnd.uniform(math.log(a), math.log(b)))
cases = {}


def group(name, n, draw):
    rows = []
    while len(rows) < n:
        row = draw()
        if row is not None:
            rows.append([[float(x) for x in row[0]], [float(x) for x in row[1]]])
    cases[name] = rows


# --- ASTM D341, full form: nu in mm2/s, t in degC -----------------------------------------------------------------
def z(nu):
    e = mp.exp
    return (nu + mp.mpf("0.7") + e(mp.mpf("-1.14883") - mp.mpf("2.65868") * nu)
            - e(mp.mpf("-0.00381308") - mp.mpf("12.5645") * nu) + e(mp.mpf("5.46491") - mp.mpf("37.6289") * nu)
            - e(mp.mpf("13.0458") - mp.mpf("74.6851") * nu) + e(mp.mpf("37.4619") - mp.mpf("192.643") * nu)
            - e(mp.mpf("80.4945") - mp.mpf("400.468") * nu))


def loglog(nu):
    return mp.log10(mp.log10(z(nu)))


def from_loglog(w):
    target = mp.power(10, mp.power(10, w))
    low, high = mp.mpf("0.2"), target
    for _ in range(200):
        mid = mp.sqrt(low * high)
        low, high = (mid, high) if z(mid) < target else (low, mid)
    return mid


def line(points):
    xs = [mp.log10(mp.mpf(t) + mp.mpf("273.15")) for t, _ in points]
    ws = [loglog(mp.mpf(nu)) for _, nu in points]
    xm, wm = sum(xs) / len(xs), sum(ws) / len(ws)
    b = -sum((x - xm) * (w - wm) for x, w in zip(xs, ws)) / sum((x - xm) ** 2 for x in xs)
    return wm + b * xm, b


def viscosity(points, t):
    a, b = line(points)
    return from_loglog(a - b * mp.log10(mp.mpf(t) + mp.mpf("273.15")))


def temperature(points, nu):
    a, b = line(points)
    return mp.power(10, (a - loglog(mp.mpf(nu))) / b) - mp.mpf("273.15")


def oil():
    kv100 = log_uniform(0.6, 40)
    kv40 = kv100 * rnd.uniform(1.6, 12)
    return [(40.0, kv40), (100.0, kv100)]


def d341_curve():
    points, t = oil(), rnd.uniform(-30, 150)
    nu = viscosity(points, t)
    if not 0.22 < nu < 1e7:
        return None
    slope = mp.diff(lambda x: mp.log(viscosity(points, x)), mp.mpf(t), h=mp.mpf("1e-12"))
    return [points[0][1], points[1][1], t], [nu, slope]


def d341_inverse():
    points, nu = oil(), log_uniform(0.3, 5000)
    t = temperature(points, nu)
    return ([points[0][1], points[1][1], nu], [t]) if -100 < t < 300 else None


def d341_many():
    true = oil()
    points = []
    for t in sorted(rnd.uniform(0, 110) for _ in range(5)):
        nu = viscosity(true, t)
        if not 0.25 < nu < 1e6:
            return None
        points.append((t, float(nu) * (1 + rnd.gauss(0, 0.003))))
    a, b = line(points)
    t = rnd.uniform(0, 110)
    nu = viscosity(points, t)
    return ([x for p in points for x in p] + [t], [a, b, nu]) if 0.22 < nu < 1e6 else None


def d341_uncertainty():
    """u(nu at t) and u(t for nu) from u(nu40), u(nu100) and u(t) or u(nu), by derivatives in 50 digits."""
    (p1, p2), t = oil(), rnd.uniform(-10, 130)
    us = [p1[1] * rnd.uniform(0, 0.01), p2[1] * rnd.uniform(0, 0.01), rnd.uniform(0, 0.5)]
    nu = viscosity([p1, p2], t)
    if not 0.22 < nu < 1e6:
        return None
    at = lambda a, b, t: viscosity([(40.0, a), (100.0, b)], t)
    back = lambda a, b, n: temperature([(40.0, a), (100.0, b)], n)
    h = mp.mpf("1e-12")
    part = lambda f, x, i: mp.diff(lambda v: f(*[v if j == i else x[j] for j in range(3)]), mp.mpf(x[i]), h=h)
    u_nu = mp.sqrt(sum((part(at, [p1[1], p2[1], t], i) * us[i]) ** 2 for i in range(3)))
    un = nu * mp.mpf(rnd.uniform(0, 0.02))
    spread = [us[0], us[1], un]
    u_t = mp.sqrt(sum((part(back, [p1[1], p2[1], nu], i) * spread[i]) ** 2 for i in range(3)))
    return [p1[1], us[0], p2[1], us[1], t, us[2], nu, un], [u_nu, u_t]


def d341_blend():
    a, b, x = log_uniform(0.3, 2000), log_uniform(0.3, 2000), rnd.random()
    return [a, b, x], [from_loglog(mp.mpf(x) * loglog(mp.mpf(a)) + (1 - mp.mpf(x)) * loglog(mp.mpf(b)))]


group("d341 curve: kv40, kv100, t -> nu, dln(nu)/dT", 60, d341_curve)
group("d341 inverse: kv40, kv100, nu -> t", 60, d341_inverse)
group("d341 fit: 5 x (t, nu), t -> A, B, nu", 30, d341_many)
group("d341 uncertainty: kv40, u, kv100, u, t, u, nu, u -> u(nu), u(t)", 30, d341_uncertainty)
group("blend: nu1, nu2, share of 1 -> nu", 40, d341_blend)


# --- D2270 by chemicals; D2161 in 50 digits -----------------------------------------------------------------------
def d2270():
    kv100 = log_uniform(2.0, 200)
    kv40 = kv100 * rnd.uniform(1.5, 25)
    return [kv40, kv100], [chemicals.viscosity.viscosity_index(kv40 * 1e-6, kv100 * 1e-6)]


def d2161():
    nu, f = mp.mpf(log_uniform(1.8, 5000)), mp.mpf(rnd.uniform(32, 300))
    m = mp.mpf
    basic = m("4.6324") * nu + (1 + m("0.03264") * nu) / (
        (m("3930.2") + m("262.7") * nu + m("23.97") * nu**2 + m("1.646") * nu**3) * m("1e-5"))
    return [nu, f], [(1 + m("0.000061") * (f - 100)) * basic]


group("d2270: kv40, kv100 -> VI", 150, d2270)
group("d2161: nu, t in degF -> SUS", 60, d2161)


# --- API MPMS 11.1 in 50 digits: rho in kg/m3, t in degC -----------------------------------------------------------
SHIFT = [mp.mpf(x) for x in
         "-0.148759 -0.267408 1.080760 1.269056 -4.089591 -1.871251 7.438081 -3.536296".split()]
CONSTANTS = [("0", "0.34878", 800.9, 1163.5), ("103.872", "0.2701", 838.3127, 1163.5),
             ("330.301", "0", 787.5195, 838.3127), ("341.0957", "0", 610.6, 1163.5)]


def ctl(k0, k1, rho, c):
    tau = mp.mpf(c) / 630
    t68 = mp.mpf(c) - sum(a * tau ** (i + 1) for i, a in enumerate(SHIFT))
    f = t68 * mp.mpf("1.8") + 32
    d60 = mp.mpf("0.01374979547")
    a = d60 / 2 * ((k0 / rho + k1) / rho)
    b = (2 * k0 + k1 * rho) / (k0 + k1 * rho)
    star = rho * (1 + (mp.exp(a * (1 + mp.mpf("0.8") * a)) - 1) / (1 + a * (1 + mp.mpf("1.6") * a) * b))
    alpha = (k0 / star + k1) / star
    dt = f - mp.mpf("60.0068749")
    return mp.exp(-alpha * dt * (1 + mp.mpf("0.8") * alpha * (dt + d60)))


def density():
    which = rnd.randrange(4)
    k0, k1, low, high = CONSTANTS[which]
    k0, k1 = mp.mpf(k0), mp.mpf(k1)
    rho60, t1, t2 = mp.mpf(rnd.uniform(low, high)), rnd.uniform(-50, 150), rnd.uniform(-50, 150)
    measured = float(rho60 * ctl(k0, k1, rho60, t1))
    rho = mp.findroot(lambda r: r * ctl(k0, k1, r, t1) - mp.mpf(measured), rho60)
    return ([which, measured, t1, t2], [rho, rho * ctl(k0, k1, rho, t2)]) if low < rho < high else None


group("density: group, rho, at t1, t2 -> rho60, rho at t2", 120, density)


# --- pipe flow by fluids: L/min, mm, m, mm2/s, kg/m3 -> Pa ----------------------------------------------------------
def pipe():
    q, d, length = log_uniform(0.5, 300), rnd.uniform(6, 50), rnd.uniform(0.1, 10)
    nu, rho, eps = log_uniform(1, 1000), rnd.uniform(780, 920), rnd.choice([0, 1.5e-6, 4.5e-5])
    v = q / 6e4 / (math.pi * (d / 1e3) ** 2 / 4)
    re = fluids.Reynolds(V=v, D=d / 1e3, nu=nu / 1e6)
    if 2000 < re < 4050 or re > 1e7:
        return None
    dp = fluids.one_phase_dP(m=q / 6e4 * rho, rho=rho, mu=nu / 1e6 * rho, D=d / 1e3, roughness=eps, L=length,
                             Method="Colebrook" if re > 4000 else None)
    return [q, d, length, nu, rho, eps], [re, dp]


def stokes():
    d, rho_p, rho, mu = rnd.uniform(1, 80), rnd.uniform(2000, 4000), rnd.uniform(780, 920), log_uniform(5e-3, 0.5)
    return [d, rho_p, rho, mu], [fluids.v_terminal(d * 1e-6, rho_p, rho, mu, Method="Stokes")]


group("pipe: Q, D, L, nu, rho, eps -> Re, dP", 120, pipe)
group("settling: d in um, rho_p, rho, mu -> v in m/s", 40, stokes)


# --- viscous-inertial fit by numpy's SVD ---------------------------------------------------------------------------
def dp_fit():
    k1, k2, n = log_uniform(0.01, 2), log_uniform(1e-4, 1e-2), rnd.randint(4, 10)
    q = sorted(rnd.uniform(2, 120) for _ in range(n))
    p = [(k1 * x + k2 * x * x) * (1 + rnd.gauss(0, 0.01)) for x in q]
    design = np.array([[x, x * x] for x in q])
    coef, *_ = np.linalg.lstsq(design, np.array(p), rcond=None)
    s2 = float(np.sum((np.array(p) - design @ coef) ** 2)) / (n - 2)
    cov = np.linalg.pinv(design) @ np.linalg.pinv(design).T * s2
    at = rnd.uniform(2, 120)
    u = math.sqrt(np.array([at, at * at]) @ cov @ np.array([at, at * at]))
    return [at] + q + p, [coef[0], coef[1], cov[0, 0], cov[0, 1], cov[1, 1], u]


group("dp fit: at Q, n x Q, n x dP -> k1, k2, var, cov, var, u(dP) in kPa and L/min", 40, dp_fit)


# --- heating by scipy ----------------------------------------------------------------------------------------------
def heating():
    c, p, h, room, t0, time = log_uniform(1e4, 2e5), rnd.uniform(-500, 4000), rnd.uniform(0, 60), 20.0, rnd.uniform(10, 90), log_uniform(60, 2e4)
    run = solve_ivp(lambda t, y: (p - h * (y - room)) / c, (0, time), [t0], method="DOP853", rtol=1e-12, atol=1e-10)
    end = run.y[0, -1]
    return ([c, p, h, room, t0, time], [end]) if -100 < end < 1000 else None


group("heating: C, P, h, room, t0, s -> t in degC", 40, heating)


# --- dust: number by quadrature of the volume density ---------------------------------------------------------------
def dust():
    sizes = sorted(log_uniform(1, 150) for _ in range(6))
    if min(b / a for a, b in zip(sizes, sizes[1:])) < 1.05:
        return None
    shares = sorted(rnd.random() for _ in range(5)) + [1.0]
    x = log_uniform(sizes[0], sizes[-1])
    total = 0.0
    for (a, fa), (b, fb) in zip(zip(sizes, shares), zip(sizes[1:], shares[1:])):
        low = max(a, x)
        if low < b:
            per_log = (fb - fa) / math.log(b / a)
            total += quad(lambda s: per_log / (math.pi / 6 * math.exp(s) ** 3), math.log(low), math.log(b),
                          epsrel=1e-12, epsabs=0)[0]
    finer = float(np.interp(math.log(x), np.log(sizes), shares))
    # particles per mg at 2.65 g/cm3: a milligram is 1e9/2.65 um3
    return sizes + shares + [x], [total * 1e9 / 2.65, finer]


group("dust: 6 sizes in um, 6 shares, size -> particles per mg, share finer", 60, dust)


# --- the loop by scipy: L, L/min, min, g ----------------------------------------------------------------------------
def loop():
    v, q, qp, qi = rnd.uniform(10, 60), rnd.uniform(5, 60), rnd.choice([0, rnd.uniform(1, 40)]), rnd.uniform(0, 0.5)
    up, down = rnd.uniform(0, 0.3), rnd.uniform(0, 0.3)
    e, ep, inj, ing = rnd.random(), rnd.random(), rnd.uniform(0, 1), rnd.uniform(0, 0.01)
    inlet, m0, time = rnd.randrange(2), rnd.uniform(0, 2), rnd.uniform(0.1, 15)

    def slope(t, y):
        c = y[0] / (v + (qi - up - down) * t)
        before = c * q + (inj if inlet else 0)
        passed = before * (1 - e)
        to_tank = passed * (1 - down / q) + (0 if inlet else inj) + ing
        kept, polished, drawn = before * e, c * qp * ep, c * up + passed * down / q
        return [to_tank - c * q - c * up - polished, kept, polished, drawn]

    run = solve_ivp(slope, (0, time), [m0, 0, 0, 0], method="DOP853", rtol=1e-13, atol=1e-14)
    return [v, q, qp, qi, up, down, e, ep, inj, ing, inlet, m0, time], list(run.y[:, -1])


def decay():
    rate, n = rnd.uniform(0.05, 0.8), rnd.randint(4, 9)
    t = sorted(rnd.uniform(0, 15) for _ in range(n))
    c = [1e4 * math.exp(-rate * x) * (1 + rnd.gauss(0, 0.03)) for x in t]
    fit = linregress(t, np.log(c))
    return t + c, [-fit.slope, fit.stderr, math.exp(fit.intercept)]


group("loop: V, Q, Qp, qi, up, down, E, Ep, injected, ingression, at inlet, m0, t -> tank, specimen, polisher, withdrawn", 60, loop)
group("decay: n x t in min, n x N -> rate, u(rate), N0", 40, decay)


# --- capacity by numpy's interpolation, its uncertainty by Monte Carlo-free derivatives --------------------------------
def capacity():
    n = 5
    doses = [rnd.uniform(1, 6) for _ in range(n)]
    p, dps = rnd.uniform(5, 30), []
    clean = p
    for _ in range(n):
        p *= rnd.uniform(1.1, 1.9)
        dps.append(p)
    terminal = rnd.uniform(clean * 1.02, dps[-1])
    um, up = [rnd.uniform(0, 0.02) for _ in doses], [rnd.uniform(0, 0.5) for _ in range(n + 1)]

    def at(args):
        steps, ps = args[:n], args[n:]
        masses = np.concatenate([[0.0], np.cumsum(steps)])
        return float(np.interp(terminal, ps, masses))

    x = np.array(doses + [clean] + dps)
    us = um + up
    variance = 0.0
    for i, u in enumerate(us):
        h = 1e-5
        hi, lo = x.copy(), x.copy()
        hi[i] += h
        lo[i] -= h
        variance += ((at(hi) - at(lo)) / (2 * h) * u) ** 2
    masses = np.concatenate([[0.0], np.cumsum(doses)])
    by_log = float(np.interp(math.log(terminal), np.log([clean] + dps), masses))
    linear = at(x)
    variance += (by_log - linear) ** 2 / 3
    return doses + um + [clean] + dps + up + [terminal], [linear, math.sqrt(variance)]


group("capacity: 5 doses, 5 u, 6 dP, 6 u, terminal -> mass, u", 40, capacity)

made_with = {"python": platform.python_version()} | {
    m.__name__: m.__version__ for m in (chemicals, fluids, mp, np, scipy)}
lines = ",\n".join(
    f"  {json.dumps(name)}: [\n    " + ",\n    ".join(json.dumps(row) for row in rows) + "\n  ]" for name, rows in cases.items())
print('{\n  "made with": ' + json.dumps(made_with) + ",\n" + lines + "\n}")
