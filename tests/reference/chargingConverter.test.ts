import { describe, expect, it } from 'vitest';
import { simulateCharge } from '../../fitting/charging/simulateCharge.ts';
import type { Supply } from '../../fitting/charging/supply.ts';
import { branch, charged, linearCell, setupOf } from '../fitting/charging/builders.ts';
import { findPython, runPython } from '../support/python.ts';
import { isMissing } from '../support/required.ts';

/**
 * The same charge integrated by SciPy's solve_ivp with the chain written out by hand: two unlike cells, a divide-by-two converter
 * with paths of 18 and 45 mΩ and fixed losses, a cable, a source that is too low at the end of the fast part, 3 mΩ up to the
 * sense point and 4 mΩ beyond it.
 */
const program = `
import json, sys
import numpy as np
from scipy.integrate import solve_ivp
d = json.load(sys.stdin)
cells, N, Rc, Rs, Rb, Vmax, Imax = d["cells"], 2, 0.06, 0.003, 0.004, d["vmax"], 4.5
g = [1 / 0.018, 1 / 0.045]
Rp, I0 = 1 / sum(g), 0.012 + 0.02
cap = min(N * (Imax - I0), 7.0 / (g[0] / sum(g)), 4.0 / (g[1] / sum(g)), 8.0)
def parts(y):
    return [3.4 + 0.8 * y[2 * k] + y[2 * k + 1] for k in range(2)]
def current(y):
    inner = parts(y)
    # source: N (sum(inner) + sum(R0) I + (Rs + Rb) I + Rp I) + Rc (I / N + I0) = Vmax
    slope = N * (sum(c["r0"] for c in cells) + Rs + Rb + Rp) + Rc / N
    source = (Vmax - Rc * I0 - N * sum(inner)) / slope
    held = [(4.2 - inner[k]) / (cells[k]["r0"] + Rb / 2) for k in range(2)]
    return min([cap, source] + held)
def bus(y, i):
    v = sum(parts(y)) + sum(c["r0"] for c in cells) * i + (Rs + Rb) * i
    b = i / N + I0
    return (N * (v + Rp * i) + Rc * b) * b
def f(t, y):
    i = current(y)
    out = []
    for k, c in enumerate(cells):
        out += [i / (3600 * c["q"]), (c["r"] * i - y[2 * k + 1]) / c["tau"]]
    return out + [bus(y, i) / 3600]
end = lambda t, y: current(y) - 0.25
end.terminal, end.direction = True, -1
y0 = [cells[0]["soc"], 0, cells[1]["soc"], 0, 0]
s = solve_ivp(f, (0, 20000), y0, method="DOP853", rtol=1e-11, atol=1e-13, max_step=2, events=end, dense_output=True)
print(json.dumps({"end": s.t_events[0][0], "soc": [s.y_events[0][0][0], s.y_events[0][0][2]], "wh": s.y_events[0][0][4],
  "current": [current(s.sol(t)) for t in d["times"]]}))
`;

const python = findPython('numpy', 'scipy');

describe.skipIf(isMissing('SciPy', python !== null, 'apt-get install python3-scipy'))(
  'a charge through an unequal converter against SciPy',
  () => {
    it('ends at the same time with the same charge and source energy', { timeout: 60_000 }, () => {
      const cells = [
        { q: 3.1, r0: 0.021, r: 0.012, tau: 40, soc: 0.1 },
        { q: 3.0, r0: 0.024, r: 0.01, tau: 90, soc: 0.12 },
      ];
      const vmax = 17;
      const supply: Supply = {
        source: {
          minVoltageV: 0,
          maxVoltageV: vmax,
          maxCurrentA: 4.5,
          maxPowerW: null,
          voltageStepV: null,
          currentStepA: null,
        },
        cable: { resistanceOhm: 0.06, maxCurrentA: null },
        ratioStage: {
          ratio: 2,
          paths: [
            { maxCurrentA: 7, outputResistanceOhm: 0.018, fixedLossCurrentA: 0.012 },
            { maxCurrentA: 4, outputResistanceOhm: 0.045, fixedLossCurrentA: 0.02 },
          ],
          efficiency: null,
          minStackVoltageV: 0,
          minOutputCurrentA: 0,
        },
        regulator: null,
      };
      const charge = simulateCharge(
        setupOf(
          cells.map(({ q, r0, r, tau, soc }) =>
            charged(linearCell(q, r0, { branches: [branch(r, tau)] }), soc),
          ),
          {
            supply,
            stackResistance: { toSenseOhm: 0.003, beyondSenseOhm: 0.004 },
            stages: [{ currentA: 8, until: null }],
            endCurrentA: 0.25,
            seriesStepS: 60,
          },
        ),
      );
      expect([...new Set(charge.phases.map((phase) => phase.kind))]).toEqual([
        'constant-current',
        'source-limited',
        'constant-voltage',
      ]);
      const times = (charge.series?.timeS ?? []).slice(1, -1);
      const reference = runPython(python ?? '', program, { cells, vmax, times }) as {
        end: number;
        soc: number[];
        wh: number;
        current: number[];
      };
      expect(Math.abs(charge.endTimeS - reference.end)).toBeLessThan(0.01);
      charge.cells.forEach((cell, k) => {
        expect(cell.endSoc).toBeCloseTo(reference.soc[k], 6);
      });
      expect(charge.energy.fromSourceWh / reference.wh).toBeCloseTo(1, 7);
      expect(times.length).toBeGreaterThan(20);
      reference.current.forEach((currentA, r) => {
        expect(charge.series?.currentA[r + 1]).toBeCloseTo(currentA, 4);
      });
      expect(Math.abs(charge.energy.balanceErrorRelative ?? 1)).toBeLessThan(1e-9);
    });
  },
);
