"""Fit of a measured charge with SciPy: the case of charge-log-fit.bench.ts. Prints seconds of each fit and the values as JSON.

Standard input: the cells' tables, the log, the start and {"rounds": n}. The same model as a system of differential equations driven by
the measured current, integrated by LSODA; least_squares moves six parameters with differences, as it is normally called.
"""
import json
import sys
import time

import numpy as np
from scipy.integrate import solve_ivp
from scipy.interpolate import PchipInterpolator
from scipy.optimize import least_squares

given = json.load(sys.stdin)
t, current = np.array(given["timeS"]), np.array(given["currentA"])
measured = [np.array(v) for v in given["voltageV"]]
settled = np.array(given["settled"])
cell = given["cell"]
soc = np.array(cell["soc"])
ocv = PchipInterpolator(soc, cell["ocvV"])
r0 = np.array(cell["r0Ohm"])
(R1, T1), (R2, T2) = [(b["rOhm"], b["tauS"]) for b in cell["branches"]]
per_as = 1 / (3600 * cell["capacityAh"])


def voltages(z0, r0_factor, branch_factor):
    def rates(time_s, y):
        i = np.interp(time_s, t, current)
        return [i * per_as, (R1 * branch_factor * i - y[1]) / T1, (R2 * branch_factor * i - y[2]) / T2]

    run = solve_ivp(rates, (t[0], t[-1]), [z0, 0, 0], method="LSODA", t_eval=t, rtol=1e-6, atol=1e-9, max_step=60)
    z = run.y[0]
    return ocv(z) + r0_factor * np.interp(z, soc, r0) * current + run.y[1] + run.y[2]


def residuals(p):
    return np.concatenate([(voltages(*p[3 * k:3 * k + 3]) - measured[k])[settled] for k in range(2)])


seconds = []
for _ in range(given["rounds"]):
    start = time.perf_counter()
    fit = least_squares(residuals, given["start"], x_scale="jac")
    seconds.append(time.perf_counter() - start)
print(json.dumps({"seconds": seconds, "values": fit.x.tolist(), "evaluations": int(fit.nfev)}))
