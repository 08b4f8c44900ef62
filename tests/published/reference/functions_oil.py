"""Viscosity and density. Part of functions.py."""

from cases import *  # noqa: F403

# --- viscosity -----------------------------------------------------------------------------------------------------
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

# --- density -------------------------------------------------------------------------------------------------------
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
