# SciPy's curve_fit on the fade models, timed; reads a job as JSON on standard input, writes seconds and sums of squares.
import json, sys, time
import numpy as np
from scipy.optimize import curve_fit

job = json.load(sys.stdin)


def power(x, q, a, z): return q - a * x**z
def power_jac(x, q, a, z):
    p = x**z
    return np.stack([np.ones_like(x), -p, -a * p * np.log(x)], 1)
def exponential(x, q, a, t, b): return q - a * (1 - np.exp(-x / t)) - b * x
def exponential_jac(x, q, a, t, b):
    e = np.exp(-x / t)
    return np.stack([np.ones_like(x), e - 1, a * e * x / t**2, -x], 1)
def line(x, q, b): return q + b * x
def root(x, q, b): return q + b * np.sqrt(x)
def bent(x, a0, a1, a2, k, g): return a0 + a1 * (x - k) + a2 * (x - k) * np.tanh((x - k) / g)
def bent_twice(x, a0, a1, a2, a3, k1, k2, g):
    return a0 + a1 * (x - k1) + a2 * (x - k1) * np.tanh((x - k1) / g) + a3 * (x - k2) * np.tanh((x - k2) / g)


def fit(f, x, y, p0, jac=None):
    try:
        with np.errstate(all='ignore'):
            p, _ = curve_fit(f, x, y, p0=p0, jac=jac, maxfev=5000)
            return float(np.sum((y - f(x, *p))**2))
    except Exception:
        return 1e300


def timed(sets, run, rounds):
    seconds = []
    for r in range(rounds + 1):
        start = time.perf_counter()
        sums = [run(x, y) for x, y in sets]
        if r > 0: seconds.append((time.perf_counter() - start) / len(sets))
    return {'seconds': seconds, 'sums': sums}


def load(name): return [(np.array(s['x'], float), np.array(s['y'], float)) for s in job[name]]


models = {
    'linear': lambda x, y: fit(line, x, y, [y[0], -1e-4]),
    'square-root': lambda x, y: fit(root, x, y, [y[0], -1e-3]),
    'power': lambda x, y: fit(power, x, y, [y[0], 0.1 / x[-1]**2, 2]),
    'exponential-linear': lambda x, y: fit(exponential, x, y, [y[0], -1e-3, -x[-1] / 5, 1e-5]),
    'two-slope': lambda x, y: fit(bent, x, y, [0.95, -6e-4, -5e-4, 0.85 * x[-1], 0.1 * x[-1]]),
    'three-slope': lambda x, y: fit(bent_twice, x, y, [1, -6e-4, -1e-4, -5e-4, 0.4 * x[-1], 0.85 * x[-1], 0.1 * x[-1]]),
}
answer = {
    'power': timed(load('power'), lambda x, y: fit(power, x, y, [y[0], 0.1 / x[-1], 1], power_jac), job['rounds']),
    'exponential': timed(load('exponential'), lambda x, y: fit(exponential, x, y, [y[0], 0.05, x[-1] / 5, 0.1 / x[-1]], exponential_jac), job['rounds']),
    'scattered': timed(load('scattered'), lambda x, y: fit(exponential, x, y, [y[0], 0.05, x[-1] / 5, 0.1 / x[-1]], exponential_jac), job['rounds']),
    'models': {name: timed(load('cells'), run, 1) for name, run in models.items()} if job['cells'] else {},
}
print(json.dumps(answer))
