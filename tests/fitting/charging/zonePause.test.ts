import { describe, expect, it } from 'vitest';
import { simulateCharge } from '../../../fitting/charging/simulateCharge.ts';
import { findPython, runPython } from '../../support/python.ts';
import { isMissing } from '../../support/required.ts';
import { charged, linearCell, row, setupOf } from './builders.ts';

const thermal = { heatCapacityJPerK: 40, heatTransferWPerK: 0.06 };
const cellAt = (startTemperatureC: number, soc: number, more = {}) =>
  charged(linearCell(2.5, 0.05, { thermal, ...more }), soc, { startTemperatureC });
const zones = [
  { fromC: 0, toC: 40, maxCurrentA: null, maxVoltageV: null },
  { fromC: 40, toC: 60, maxCurrentA: null, maxVoltageV: 4 },
];

const program = `
import json, sys
from scipy.integrate import solve_ivp
d = json.load(sys.stdin)
C, K, Q, R, amb = 40.0, 0.06, 2.5, 0.05, 25.0
ocv = lambda z: 3.4 + 0.8 * z
def law(mode, z):
    if mode == "pause": return 0.0
    limit = 4.0 if mode == "hot" else 4.2
    return min(2.5, (limit - ocv(z)) / R)
def run(mode, t0, y0, events):
    f = lambda t, y: [law(mode, y[0]) / (3600 * Q), (R * law(mode, y[0]) ** 2 - K * (y[1] - amb)) / C]
    return solve_ivp(f, (t0, 40000), y0, method="DOP853", rtol=1e-11, atol=1e-13, max_step=2, events=events)
def ev(g, direction):
    g.terminal, g.direction = True, direction
    return g
t, y = 0.0, [0.82, 45.0]
s = run("pause", t, y, [ev(lambda t, y: y[1] - 39.0, -1)])
resume = s.t_events[0][0]
s = run("cool", resume, s.y_events[0][0], [ev(lambda t, y: (4.2 - ocv(y[0])) / R - 0.125, -1)])
print(json.dumps({"resume": resume, "end": s.t_events[0][0], "soc": s.y_events[0][0][0], "t": s.y_events[0][0][1]}))
`;
const python = findPython('numpy', 'scipy');

describe('a hot zone whose voltage lies below that of the cell', () => {
  it.skipIf(isMissing('SciPy', python !== null, 'apt-get install python3-scipy'))(
    'pauses the charge, which goes on when the cell has cooled, as SciPy integrates it',
    () => {
      // At 82 % the cell stands at 4.056 V, above the hot zone's 4.0 V.
      const charge = simulateCharge(setupOf([cellAt(45, 0.82)], { zones }));
      expect(charge.phases.map((phase) => phase.kind)).toEqual([
        'paused',
        'constant-current',
        'constant-voltage',
      ]);
      expect(charge.limits[0]).toMatchObject({ limit: 'zone-voltage', cell: 0 });
      expect(charge.endReason).toBe('end-current');
      const reference = runPython(python ?? '', program, {}) as Record<
        'resume' | 'end' | 'soc' | 't',
        number
      >;
      expect(charge.phases[0].endTimeS).toBeCloseTo(reference.resume, 3);
      expect(charge.endTimeS).toBeCloseTo(reference.end, 2);
      expect(charge.cells[0].endSoc).toBeCloseTo(reference.soc, 7);
      expect(charge.cells[0].endTemperatureC).toBeCloseTo(reference.t, 5);
    },
  );

  it('ends under its own name, not as complete, where the surroundings keep the cell in the zone', () => {
    const charge = simulateCharge(setupOf([cellAt(45, 0.5)], { zones, ambientTemperatureC: 45 }));
    expect(charge.endReason).toBe('zone-voltage-reached');
    expect(charge.cells[0].endSoc).toBeLessThan(0.76);
    const still = simulateCharge(setupOf([cellAt(45, 0.9, { thermal: null })], { zones }));
    expect(still).toMatchObject({ endReason: 'zone-voltage-reached', endTimeS: 0 });
  });
});

describe('the edges of zones and of the window', () => {
  it('with a hysteresis of 0 a cell is held at the edge, and the charge ends', () => {
    const edge = [
      { fromC: 0, toC: 32, maxCurrentA: null, maxVoltageV: null },
      { fromC: 32, toC: 60, maxCurrentA: 1, maxVoltageV: null },
    ];
    const cell = charged(
      linearCell(2.5, 0.08, { thermal: { heatCapacityJPerK: 20, heatTransferWPerK: 0.04 } }),
      0.05,
    );
    const charge = simulateCharge(setupOf([cell], { zones: edge, zoneHysteresisK: 0, seriesStepS: 10 }));
    expect(charge.endReason).toBe('end-current');
    const temperatures = charge.series?.cells[0].temperatureC ?? [];
    expect(Math.max(...temperatures)).toBeLessThan(32.001);
    const held = temperatures.filter((t) => t > 31.9).length;
    expect(held).toBeGreaterThan(50);
    // One stretch at the edge, not one for each time it is met.
    expect(charge.limits.length).toBeLessThan(12);
    expect(charge.phases.length).toBeLessThan(8);
    // Held at 32 °C the cell gives off 0.04 × 7 W, which is the heat of 1.87 A in 80 mΩ: the mean current there.
    const currents = (charge.series?.currentA ?? []).filter((_, r) => temperatures[r] > 31.95);
    const mean = currents.reduce((sum, a) => sum + a, 0) / currents.length;
    expect(mean).toBeGreaterThan(1.5);
    expect(mean).toBeLessThan(2.2);
  });

  it('surroundings exactly at the lower end of the window do not stop a charge that cools its cell by reversible heat', () => {
    const entropicVPerK = row(-1.5e-4, -1.5e-4);
    const cell = {
      ...charged(linearCell(2.5, 0.02, { thermal, entropicVPerK }), 0.3, { startTemperatureC: 0 }),
      minTemperatureC: 0,
      maxTemperatureC: 45,
    };
    const cold = { ambientTemperatureC: 0, stages: [{ currentA: 0.5, until: null }] };
    const window = simulateCharge(setupOf([cell], cold));
    expect(window.endReason).toBe('end-current');
    const inZones = simulateCharge(
      setupOf([{ ...cell, minTemperatureC: null }], {
        ...cold,
        zones: [{ fromC: 0, toC: 45, maxCurrentA: null, maxVoltageV: null }],
      }),
    );
    expect(inZones.endReason).toBe('end-current');
    expect(inZones.phases.every((phase) => phase.kind !== 'paused')).toBe(true);
    const below = simulateCharge(setupOf([{ ...cell, startTemperatureC: -0.1 }], cold));
    expect(below.endReason).toBe('outside-temperature-window');
  });
});
