"""Random numbers, the groups of cases and the versions of the libraries, shared by functions.py and its parts."""


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
