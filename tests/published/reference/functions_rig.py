"""Hydraulics, dust and the loop. Part of functions.py."""

from cases import *  # noqa: F403

# --- hydraulics ----------------------------------------------------------------------------------------------------
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

# --- dust ----------------------------------------------------------------------------------------------------------
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

# --- the loop ------------------------------------------------------------------------------------------------------
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
