"""Makes trend.json: medians, median absolute deviations and Theil-Sen slopes by SciPy.

    python3 -m venv v && v/bin/pip install scipy==1.17.1 && v/bin/python tests/vectors/trend.py > tests/vectors/trend.json

The series are seeded; the estimators are SciPy's own, with its defaults
(theilslopes: alpha 0.95, method "separate"; median_abs_deviation: scale 1).
"""

import json
import random

import scipy
from scipy.stats import median_abs_deviation, theilslopes

random.seed(20260316)


def case(name, x, y):
    slope, intercept, low, high = theilslopes(y, x)
    import numpy

    return {
        "name": name,
        "x": [float(v) for v in x],
        "y": [float(v) for v in y],
        "median": float(numpy.median(y)),
        "mad": float(median_abs_deviation(y)),
        "slope": float(slope),
        "intercept": float(intercept),
        "low": float(low),
        "high": float(high),
    }


cases = [
    case("two points", [0, 4], [80, 92]),
    case("three points", [0, 4, 8], [16, 19, 22]),
    case("constant", [0, 1, 2, 3, 4], [70] * 5),
    case("ties in y", [0, 4, 8, 12, 16, 20], [80, 80, 84, 84, 84, 90]),
    case("ties in x", [0, 0, 4, 4, 8, 8, 12], [80, 82, 83, 81, 88, 90, 91]),
    case("falling", range(10), [97, 97, 96, 96, 95, 95, 94, 92, 92, 90]),
    case("one wild value", range(9), [80, 81, 80, 79, 180, 81, 80, 82, 81]),
]
for n in (4, 5, 12, 13, 42, 61):
    x, t = [], 0.0
    for _ in range(n):
        t += random.choice([0.5, 1.0, 3.5, 4.0, 4.5])
        x.append(t)
    y = [round(80 + random.gauss(0, 5) + 0.2 * v) for v in x]
    cases.append(case(f"noise {n}", x, y))

print(json.dumps({"scipy": scipy.__version__, "cases": cases}, indent=1))
