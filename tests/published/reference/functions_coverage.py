"""Half widths of intervals of sums of errors whose laws are known: normal, Student's, rectangular.

The sum's distribution is followed without approximation. Where a normal or a t part is in it, by its characteristic function
(Gil-Pelaez: F(x) = 1/2 + (1/π) ∫ sin(tx) φ(t)/t dt, all parts even), by scipy's quadrature; of rectangular parts alone, by the
exact piecewise polynomial, in fractions. Random numbers of its own, so that it can be run by itself:

    python3 tests/published/reference/functions_coverage.py
"""

import itertools
import math
import random
from fractions import Fraction

import numpy as np
from scipy import integrate, optimize, special, stats

NORMAL, RECTANGULAR, STUDENT = 0, 1, 2
own = random.Random(20261126)


def characteristic(parts):
    """φ of the sum, a function of an array of t ≥ 0."""

    def of_student(t, scale, freedom):
        z = np.sqrt(freedom) * scale * t
        log_k = np.log(special.kve(freedom / 2, z)) - z  # of K, which underflows
        half = freedom / 2
        return np.exp(log_k + half * np.log(z) - special.gammaln(half) - (half - 1) * math.log(2))

    def phi(t):
        product = np.ones_like(t)
        for kind, u, freedom in parts:
            if kind == NORMAL:
                product = product * np.exp(-((u * t) ** 2) / 2)
            elif kind == RECTANGULAR:
                product = product * np.sinc(u * math.sqrt(3) * t / math.pi)
            else:
                product = product * np.where(t > 1e-9 / u, of_student(np.maximum(t, 1e-9 / u), u, freedom), 1.0)
        return product

    return phi


def probability_within(parts):
    """P(|sum| ≤ h), a function of h."""
    if all(kind == RECTANGULAR for kind, _, _ in parts):
        widths = [Fraction(u * math.sqrt(3)) for _, u, _ in parts]
        n = len(widths)
        corners = [(math.prod(signs), sum(s * a for s, a in zip(signs, widths))) for signs in itertools.product((1, -1), repeat=n)]
        scale = math.factorial(n) * math.prod(2 * a for a in widths)

        def below(x):
            return sum(sign * max(Fraction(x) + at, Fraction(0)) ** n for sign, at in corners) / scale

        return lambda h: float(below(h) - below(-h))
    phi = characteristic(parts)
    spread = math.sqrt(sum(u * u for _, u, _ in parts))
    # Where φ is nothing any more.
    end = 1.0 / spread
    while np.max(np.abs(phi(np.linspace(end, 1.5 * end, 400)))) > 1e-15:
        end *= 1.3
    nodes, weights = np.polynomial.legendre.leggauss(24)

    def within(h):
        # Panels short enough for sin(th) and for every factor of φ.
        wave = h + sum(u * math.sqrt(3) for kind, u, _ in parts if kind == RECTANGULAR) + spread
        edges = np.linspace(0, end, max(40, int(math.ceil(end * wave / 4))) + 1)
        # Near zero a t part's φ is not smooth: finer there.
        edges = np.concatenate([edges[1] * np.array([0.0] + [2.0 ** -k for k in range(30, 0, -1)]), edges[1:]])
        middle, half = (edges[1:] + edges[:-1]) / 2, (edges[1:] - edges[:-1]) / 2
        t = (middle[:, None] + half[:, None] * nodes[None, :]).ravel()
        w = (half[:, None] * weights[None, :]).ravel()
        return 2 / math.pi * float(np.sum(w * np.sin(t * h) / t * phi(t)))

    return within


def half_width(parts, p):
    within = probability_within(parts)
    low, high = 0.0, math.sqrt(sum(u * u for _, u, _ in parts))
    if all(kind == RECTANGULAR for kind, _, _ in parts):
        high = sum(u * math.sqrt(3) for _, u, _ in parts)
    while within(high) < p:
        low, high = high, 2 * high
    return optimize.brentq(lambda h: within(h) - p, low, high, xtol=1e-12 * high, rtol=1e-12)


def checks():
    """What is known otherwise: one law by itself, and a sum that numerical quadrature of densities gives."""
    close = lambda a, b, tolerance: abs(a / b - 1) < tolerance or exit(f"{a} is not {b}")
    close(half_width([(NORMAL, 2.0, 0)], 0.95), 2 * stats.norm.ppf(0.975), 1e-9)
    for freedom in (2, 3.5, 8, 40):
        close(half_width([(STUDENT, 2.0, freedom)], 0.95), 2 * stats.t.ppf(0.975, freedom), 1e-8)
    close(half_width([(RECTANGULAR, 1.0, 0)], 0.95), 0.95 * math.sqrt(3), 1e-9)
    a = 1.3 * math.sqrt(3)
    h = half_width([(STUDENT, 0.7, 5), (RECTANGULAR, 1.3, 0)], 0.95)
    inside = lambda x: stats.t.cdf((h - x) / 0.7, 5) - stats.t.cdf((-h - x) / 0.7, 5)
    close(integrate.quad(inside, -a, a, epsabs=1e-13, limit=400)[0] / (2 * a), 0.95, 1e-9)
    h = half_width([(STUDENT, 0.7, 3), (STUDENT, 0.9, 4)], 0.95)
    inside = lambda x: (stats.t.cdf((h - x) / 0.9, 4) - stats.t.cdf((-h - x) / 0.9, 4)) * stats.t.pdf(x / 0.7, 3) / 0.7
    close(integrate.quad(inside, -np.inf, np.inf, epsabs=1e-13, limit=2000)[0], 0.95, 1e-8)


def draw(students, normals):
    u = lambda: math.exp(own.uniform(math.log(0.01), math.log(10)))
    parts = [(STUDENT, u(), float(own.choice([2, 3, 4, 6, 8, 10, 15, 30, 60]))) for _ in range(students)]
    parts += [(NORMAL, u(), 0.0) for _ in range(normals)]
    parts += [(RECTANGULAR, u(), 0.0) for _ in range(own.randrange(0 if parts else 1, 9 - len(parts)))]
    # Limits that are nothing beside the rest must do no harm.
    parts = parts[:8]
    if len(parts) < 8 and own.random() < 0.3:
        parts.append((RECTANGULAR, math.exp(own.uniform(math.log(1e-18), math.log(1e-3))), 0.0))
    own.shuffle(parts)
    p = own.choice([0.9, 0.95, 0.95, 0.99])
    return [p] + [x for part in parts for x in part], [half_width(parts, p)]


checks()
AGAINST = "scipy: quadrature of the characteristic function; exact in fractions for rectangular parts alone"
ROWS = {
    "half width: p, (law, u, freedom) … -> half width; one t part or any normal ones, with rectangular ones": [
        draw(*own.choice([(0, 0), (1, 0), (1, 0), (0, own.randrange(1, 4))])) for _ in range(220)
    ],
    "half width by Welch and Satterthwaite: p, (law, u, freedom) … -> half width; t parts with others": [
        draw(own.randrange(1, 4), own.randrange(1, 3)) if own.random() < 0.5 else draw(own.randrange(2, 5), 0) for _ in range(140)
    ],
}

if __name__ == "__main__":
    import json
    import pathlib

    import scipy

    # Puts the groups into functions.json, all others left as they are.
    path = pathlib.Path(__file__).with_name("functions.json")
    text = path.read_text(encoding="utf-8").rstrip().removesuffix("}}").rstrip()
    for name in ROWS:
        at = text.find(json.dumps(name))
        text = text if at < 0 else text[:at].rstrip().rstrip(",")
    against = AGAINST.replace("scipy", f"scipy {scipy.__version__}", 1)
    for name, rows in ROWS.items():
        numbers = [[[float(x) for x in row[0]], [float(x) for x in row[1]]] for row in rows]
        lines = ",\n".join(json.dumps(row, allow_nan=False) for row in numbers)
        text += f',\n{json.dumps(name)}: {{"against": {json.dumps(against)}, "rows": [\n{lines}\n]}}'
    path.write_text(text + "\n}}\n", encoding="utf-8")
else:
    from cases import group

    for title, made in ROWS.items():
        waiting = list(made)
        group(title, AGAINST, len(made), lambda: waiting.pop(0))
