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


def along(grid, x):
    """Left index and weight; outside the grid the last stretch goes on."""
    k = min(max(bisect_right(grid, x) - 1, 0), len(grid) - 2)
    return k, (x - grid[k]) / (grid[k + 1] - grid[k])


def held_within(a):
    return min(max(a, 0.0), 1.0)


class Cell:
    def __init__(self, d):
        self.__dict__.update(d)
        self.m = len(d["branches"])
        self.n = len(self.temperatureC)

    def place(self, z, t):
        """Where a state lies in the tables: SOC as it is and held at the edge, and temperature, held too."""
        k, a = along(self.soc, z)
        j, b = (0, 0.0) if self.n == 1 else along(self.temperatureC, t)
        return k, a, held_within(a), j, held_within(b)

    def read(self, table, place, clamp=True):
        k, free, held, j, b = place
        a = held if clamp else free
        n = self.n
        if n == 1:
            return table[k] + a * (table[k + 1] - table[k])
        at, after = k * n + j, (k + 1) * n + j
        cold = table[at] + a * (table[after] - table[at])
        warm = table[at + 1] + a * (table[after + 1] - table[at + 1])
        return cold + b * (warm - cold)

    def parts(self, y, place=None):
        z, t = y[0], y[1]
        place = place or self.place(z, t)
        factor = math.exp(self.activation / GAS * (1 / (t + KELVIN) - 1 / 298.15)) if self.activation else 1.0
        return self.read(self.ocv, place, False) + sum(y[2:2 + self.m]), self.read(self.r0, place) * factor

    def rates(self, y, i):
        z, t = y[0], y[1]
        place = self.place(z, t)
        inner, r0 = self.parts(y, place)
        over = r0 * i + sum(y[2:2 + self.m])
        out = [i / (3600 * self.capacityAh)]
        heat = i * over + i * (t + KELVIN) * self.read(self.entropic, place)
        out.append((heat - self.transfer * (t - self.ambient)) / self.heatCapacity)
        for j, branch in enumerate(self.branches):
            out.append((self.read(branch["r"], place) * i - y[2 + j]) / self.read(branch["tau"], place))
        return out


def run(stack, rtol):
    cells = [Cell(dict(c, ambient=stack["ambient"])) for c in stack["cells"]]
    starts = np.cumsum([0] + [2 + c.m for c in cells]).tolist()
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

        # Plain numbers are several times quicker than those of an array, and the same.
        def f(_, y):
            y = y.tolist()
            i = current(y)
            return [rate for k, c in enumerate(cells) for rate in c.rates(part(y, k), i)]

        events, names = [], []

        def watch(name, g, direction):
            g.terminal, g.direction = True, direction
            events.append(g)
            names.append(name)

        for k, c in enumerate(cells):
            if k == held:
                continue

            def over(_, y, k=k, c=c):
                y = y.tolist()
                inner, r0 = c.parts(part(y, k))
                return inner + r0 * current(y) - c.limit

            watch(("hold", k), over, 1)
        if stage < len(stack["stages"]) - 1:
            for k in range(len(cells)):
                watch(("stage",), lambda _, y, k=k, s=stack["stages"][stage]["untilSoc"]: y[starts[k]] - s, 1)
        if held is not None:
            watch(("end",), lambda _, y: current(y.tolist()) - stack["endCurrentA"], -1)
        s = solve_ivp(f, (t, 1e6), y, method="LSODA", rtol=rtol, atol=1e-12, events=events, dense_output=True, first_step=1e-3)
        end = s.t[-1]
        states += [[float(v) for v in s.sol(a)] for a in asked if t <= a < end]
        hit = [n for n, e in zip(names, s.t_events) if len(e)][0]
        t, y = end, s.y[:, -1].copy()
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
