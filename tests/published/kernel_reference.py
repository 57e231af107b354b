"""Writes kernel_reference.csv: log2 and 2**x by mpmath at 200 bits, as two floats that add up to about 100 bits."""

import math
import random
from pathlib import Path

from mpmath import log, mp, mpf

mp.prec = 200
random.seed(20261125)


def row(name, x):
    exact = log(mpf(x), 2) if name == "log2" else mpf(2) ** mpf(x)
    value = float(exact)
    return f"{name},{x!r},{value!r},{float(exact - mpf(value))!r}"


xs = [math.ldexp(1 + k / 512, e) for k in range(512) for e in (-1, 0)]
xs += [math.ldexp(random.uniform(1, 2), random.randint(-1074, 1023)) for _ in range(1200)]
xs += [1 + s * 2.0**-k for k in range(1, 53) for s in (1, -1) if 1 + s * 2.0**-k > 0]
ys = [random.uniform(-1021, 1024) for _ in range(1200)] + [k / 512 for k in range(-600, 601)]
ys += [s * 2.0**-k for k in range(60) for s in (1, -1)]
lines = ['#: origin = "independent code: mpmath, 200 bits"', "# read by tests/kernel.rs", "function,x,value,rest"]
lines += [row("log2", x) for x in xs] + [row("exp2", y) for y in ys]
Path(__file__).with_name("kernel_reference.csv").write_text("\n".join(lines) + "\n")
