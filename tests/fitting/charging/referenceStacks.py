"""Integrates the stack equations of fitting/charging/cellModel.ts with SciPy, one stretch of one control law at a time.

Standard input: {"stacks": [...], "rtol": 1e-10}; standard output: for each stack the times of the switches and the states at
the asked times, [soc, temperature, branch voltages...] of each cell in turn.
"""
import json
import math
import sys
from bisect import bisect_right

import numpy as np
from scipy.integrate import solve_ivp

GAS, KELVIN = 8.31446261815324, 273.15


def along(grid, x, clamp):
    """Left index and weight; outside the grid the edge holds, or the last stretch goes on."""
    k = min(max(bisect_right(grid, x) - 1, 0), len(grid) - 2)
    a = (x - grid[k]) / (grid[k + 1] - grid[k])
    return k, (min(max(a, 0.0), 1.0) if clamp else a)


class Cell:
    def __init__(self, d):
        self.__dict__.update(d)
        self.m = len(d["branches"])

    def read(self, table, z, t, clamp=True):
        k, a = along(self.soc, z, clamp)
        n = len(self.temperatureC)
        if n == 1:
            return table[k] + a * (table[k + 1] - table[k])
        j, b = along(self.temperatureC, t, True)
        cold = table[k * n + j] + a * (table[(k + 1) * n + j] - table[k * n + j])
        warm = table[k * n + j + 1] + a * (table[(k + 1) * n + j + 1] - table[k * n + j + 1])
        return cold + b * (warm - cold)

    def parts(self, y):
        z, t = y[0], y[1]
        factor = math.exp(self.activation / GAS * (1 / (t + KELVIN) - 1 / 298.15)) if self.activation else 1.0
        return self.read(self.ocv, z, t, False) + sum(y[2:2 + self.m]), self.read(self.r0, z, t) * factor

    def rates(self, y, i):
        z, t = y[0], y[1]
        inner, r0 = self.parts(y)
        over = r0 * i + sum(y[2:2 + self.m])
        out = [i / (3600 * self.capacityAh)]
        heat = i * over + i * (t + KELVIN) * self.read(self.entropic, z, t)
        out.append((heat - self.transfer * (t - self.ambient)) / self.heatCapacity)
        for j, branch in enumerate(self.branches):
            out.append((self.read(branch["r"], z, t) * i - y[2 + j]) / self.read(branch["tau"], z, t))
        return out


def run(stack, rtol):
    cells = [Cell(dict(c, ambient=stack["ambient"])) for c in stack["cells"]]
    starts = np.cumsum([0] + [2 + c.m for c in cells])
    part = lambda y, k: y[starts[k]:starts[k + 1]]
    y = np.concatenate([[c.startSoc, c.startTemperatureC] + [0.0] * c.m for c in cells])
    t, stage, held, switches, asked, states = 0.0, 0, None, [], stack["times"], []
    while True:
        command = stack["stages"][stage]["currentA"]

        def current(y, k=held, command=command):
            if k is None:
                return command
            inner, r0 = cells[k].parts(part(y, k))
            return (cells[k].limit - inner) / r0

        def f(_, y):
            i = current(y)
            return np.concatenate([c.rates(part(y, k), i) for k, c in enumerate(cells)])

        events, names = [], []

        def watch(name, g, direction):
            g.terminal, g.direction = True, direction
            events.append(g)
            names.append(name)

        for k, c in enumerate(cells):
            if k == held:
                continue

            def over(_, y, k=k, c=c):
                inner, r0 = c.parts(part(y, k))
                return inner + r0 * current(y) - c.limit

            watch(("hold", k), over, 1)
        if stage < len(stack["stages"]) - 1:
            for k in range(len(cells)):
                watch(("stage",), lambda _, y, k=k, s=stack["stages"][stage]["untilSoc"]: y[starts[k]] - s, 1)
        if held is not None:
            watch(("end",), lambda _, y: current(y) - stack["endCurrentA"], -1)
        s = solve_ivp(f, (t, 1e6), y, method="LSODA", rtol=rtol, atol=1e-12, events=events, dense_output=True, first_step=1e-3)
        end = s.t[-1]
        states += [[float(v) for v in s.sol(a)] for a in asked if t <= a < end]
        hit = [n for n, e in zip(names, s.t_events) if len(e)][0]
        t, y = end, s.y[:, -1]
        switches.append(t)
        if hit[0] == "end":
            return {"endTimeS": t, "switches": switches, "states": states}
        if hit[0] == "stage":
            stage, held = stage + 1, None
            for k, c in enumerate(cells):
                inner, r0 = c.parts(part(y, k))
                if inner + r0 * stack["stages"][stage]["currentA"] > c.limit + 1e-9:
                    held = k
        else:
            held = hit[1]


given = json.load(sys.stdin)
json.dump([run(stack, given["rtol"]) for stack in given["stacks"]], sys.stdout)
