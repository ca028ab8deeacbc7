# General baselines for the forecast of a crossing: the line through the last fifth, a power law, a Gaussian process. Reads cases
# as JSON on standard input ({x, y, limit, finished: [{x, y, life}]}), writes low, middle and high (80 %) of each.
# With finished cells, the line and the power law are set right by the errors they make on those at the same age, and the Gaussian
# process learns ln(life) from loss, slope and curvature at that age.
import json, sys, warnings
from multiprocessing import Pool
import numpy as np
from scipy.optimize import curve_fit
from sklearn.gaussian_process import GaussianProcessRegressor
from sklearn.gaussian_process.kernels import RBF, ConstantKernel, DotProduct, WhiteKernel

warnings.filterwarnings('ignore')
Z = 1.2815515655446004
MOST = 30.0


def line(x, y, limit):
    m = x >= x[-1] - 0.2 * (x[-1] - x[0])
    if m.sum() < 4: m = np.arange(len(x)) >= len(x) - 4
    p, c = np.polyfit(x[m], y[m], 1, cov=True)
    if p[0] >= 0: return None
    at = (limit - p[1]) / p[0]
    g = np.array([-(limit - p[1]) / p[0] ** 2, -1 / p[0]])
    return at, float(np.sqrt(max(g @ c @ g, 0)))


def power(x, y, limit):
    e = x[-1]
    law = lambda u, a, b, z: a - b * u ** z
    try:
        p, c = curve_fit(law, x / e, y, p0=[y[0], max(y[0] - y[-1], 1e-4), 1.5], bounds=([0, 1e-9, 0.2], [9 * y[0], 9 * y[0], 10]))
    except Exception:
        return None
    left = p[0] - limit
    if left <= 0: return None
    at = lambda p: (max(p[0] - limit, 1e-12) / max(p[1], 1e-12)) ** (1 / p[2])
    here = at(p)
    g = np.array([(at(p + d) - at(p - d)) / (2 * np.sum(d)) for d in np.diag(1e-5 * np.maximum(np.abs(p), 1e-3))])
    return min(here, MOST) * e, float(np.sqrt(max(g @ c @ g, 0))) * e


def process(x, y, limit):
    e, mean, scale = x[-1], y.mean(), y.std() or 1
    k = ConstantKernel(1.0) * DotProduct(1.0) ** 2 + ConstantKernel(1.0) * RBF(1.0, (0.2, 10)) + WhiteKernel(0.01, (1e-7, 1))
    g = GaussianProcessRegressor(k, random_state=0).fit((x / e)[:, None], (y - mean) / scale)
    u = np.exp(np.linspace(0, np.log(6), 60))
    paths = g.sample_y(u[:, None], 200, random_state=0)
    beyond = paths < (limit - mean) / scale
    at = np.where(beyond.any(0), u[beyond.argmax(0)], MOST)
    return [float(v) * e for v in np.quantile(at, [0.1, 0.5, 0.9])]


def features(x, y, limit, age):
    m = x <= age
    x, y = x[m], y[m]
    n = len(x)
    if n < 8: return None
    top = np.max(y[: max(n // 4, 1)])
    slope = lambda a, b: np.polyfit(x[a:b], y[a:b], 1)[0] * age / (top - limit)
    return [(top - y[-3:].mean()) / (top - limit), slope(4 * n // 5 - 2, n), slope(n // 2, 4 * n // 5)]


def alone(case):
    x, y, limit, end = np.array(case['x']), np.array(case['y']), case['limit'], case['x'][-1]
    answers = {}
    for name, method in (('last-slope line', line), ('power law', power)):
        found = method(x, y, limit)
        answers[name] = [end, MOST * end, MOST * end] if found is None else [max(found[0] + s * Z * found[1], end) for s in (-1, 0, 1)]
    answers['Gaussian process'] = process(x, y, limit)
    return answers


def lot(case):
    x, y, limit, end = np.array(case['x']), np.array(case['y']), case['limit'], case['x'][-1]
    alive = [f for f in case['finished'] if f['life'] > end]
    cut = [(np.array(f['x']), np.array(f['y']), f['life']) for f in alive]
    answers = {}
    for name, method in (('last-slope line', line), ('power law', power)):
        own = method(x, y, limit)
        errors = []
        for fx, fy, life in cut:
            m = fx <= end
            if m.sum() < 8: continue
            other = method(fx[m], fy[m], limit)
            errors.append(np.log(life / (MOST * end if other is None else max(other[0], end))))
        at = MOST * end if own is None else max(own[0], end)
        answers[name] = [max(at * float(np.exp(v)), end) for v in np.quantile(errors, [0.1, 0.5, 0.9])] if len(errors) > 4 else [end, at, MOST * end]
    now = features(x, y, limit, end)
    rows = [(features(fx, fy, limit, end), np.log(life)) for fx, fy, life in cut]
    rows = [r for r in rows if r[0] is not None]
    if now is None or len(rows) < 5:
        answers['Gaussian process'] = [end, MOST * end, MOST * end]
        return answers
    X, t = np.array([r[0] for r in rows]), np.array([r[1] for r in rows])
    m, s = X.mean(0), X.std(0) + 1e-12
    k = ConstantKernel(1.0) * RBF(np.ones(X.shape[1]), (0.1, 100)) + WhiteKernel(0.1, (1e-5, 10))
    g = GaussianProcessRegressor(k, normalize_y=True, n_restarts_optimizer=1, random_state=0).fit((X - m) / s, t)
    mean, sd = g.predict(((np.array(now) - m) / s)[None], return_std=True)
    answers['Gaussian process'] = [max(float(np.exp(mean[0] + q * sd[0])), end) for q in (-Z, 0, Z)]
    return answers


def answer(case): return lot(case) if case['finished'] else alone(case)


with Pool() as pool: print(json.dumps(pool.map(answer, json.load(sys.stdin), chunksize=1)))
