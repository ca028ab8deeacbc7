"""Two-cell charge with SciPy: the case of charge.bench.ts. Prints a tight reference and timed runs as JSON.

Standard input: the case and {"rounds": n}. The right-hand side is scalar Python with math.exp, the quickest form found.
"""
import json
import math
import statistics
import sys
import time

from scipy.integrate import solve_ivp

given = json.load(sys.stdin)
case = given["case"]
exp, GAS, K0 = math.exp, 8.31446261815324, 273.15
(QA, RA, ZA), (QB, RB, ZB) = [(c["capacityAh"] * 3600, c["r0Ohm"], c["startSoc"]) for c in case["cells"]]
(R1, T1), (R2, T2) = [(b["rOhm"], b["tauS"]) for b in case["branches"]]
A, B, (C0, C1, C2, C3) = case["ocv"]["a"], case["ocv"]["b"], case["ocv"]["coefficients"]
E = case["activationEnergyJPerMol"] / GAS
TR = case["ambientC"] + K0
CT, KT, TA = case["heatCapacityJPerK"], case["heatTransferWPerK"], case["ambientC"]
VM, I0, IC = case["voltageLimitV"], case["currentA"], case["endCurrentA"]


def ocv(z):
    return A * exp(-B * z) + C0 + z * (C1 + z * (C2 + z * C3))


def rates(taper):
    def f(t, y):
        za, a1, a2, ta, zb, b1, b2, tb = y
        ra = RA * exp(E * (1 / (ta + K0) - 1 / TR))
        rb = RB * exp(E * (1 / (tb + K0) - 1 / TR))
        i = (VM - ocv(za) - a1 - a2) / ra if taper else I0
        return [i / QA, (R1 * i - a1) / T1, (R2 * i - a2) / T2, (i * (ra * i + a1 + a2) - KT * (ta - TA)) / CT,
                i / QB, (R1 * i - b1) / T1, (R2 * i - b2) / T2, (i * (rb * i + b1 + b2) - KT * (tb - TA)) / CT]
    return f


constant, taper = rates(False), rates(True)


def limit(t, y):
    za, a1, a2, ta = y[:4]
    return ocv(za) + RA * exp(E * (1 / (ta + K0) - 1 / TR)) * I0 + a1 + a2 - VM


def ended(t, y):
    za, a1, a2, ta = y[:4]
    return (VM - ocv(za) - a1 - a2) / (RA * exp(E * (1 / (ta + K0) - 1 / TR))) - IC


limit.terminal, limit.direction = True, 1
ended.terminal, ended.direction = True, -1


def charge(**options):
    first = solve_ivp(constant, (0, 2e4), [ZA, 0, 0, TA, ZB, 0, 0, TA], events=limit, **options)
    t = first.t_events[0][0]
    second = solve_ivp(taper, (t, 2e4), first.y_events[0][0], events=ended, **options)
    return t, second.t_events[0][0], len(first.t) + len(second.t)


def timed(name, **options):
    t1, t2, steps = charge(**options)
    seconds = []
    for _ in range(given["rounds"]):
        start = time.perf_counter()
        charge(**options)
        seconds.append(time.perf_counter() - start)
    return {"name": name, "switchS": t1, "endS": t2, "steps": steps, "medianS": statistics.median(seconds)}


out = {
    "reference": charge(method="DOP853", rtol=1e-11, atol=1e-12) if given["reference"] else None,
    "runs": [
        timed("SciPy LSODA, rtol 1e-6, atol 1e-9", method="LSODA", rtol=1e-6, atol=1e-9),
        timed("SciPy LSODA, rtol 1e-6, atol 1e-6 (its default)", method="LSODA", rtol=1e-6),
    ],
}
json.dump(out, sys.stdout)
