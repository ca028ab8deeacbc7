import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { ChargedCell } from '../../../fitting/charging/chargeSetup.ts';
import { simulateCharge } from '../../../fitting/charging/simulateCharge.ts';
import { branch, charged, linearCell, setupOf } from './builders.ts';

const thermal = { heatCapacityJPerK: 47.5, heatTransferWPerK: 0.0418 };
const bypass = { startVoltageV: 4.1, stopVoltageV: 4.05, atRest: false };

describe('the rules of a charge', () => {
  it('precharge lasts until every cell has reached its voltage', () => {
    const cells = [charged(linearCell(2.5, 0.05), 0.02), charged(linearCell(2.5, 0.05), 0.1)];
    const charge = simulateCharge(setupOf(cells, { precharge: { belowCellVoltageV: 3.45, currentA: 0.25 } }));
    expect(charge.phases.map((phase) => phase.kind)).toEqual([
      'precharge',
      'constant-current',
      'constant-voltage',
    ]);
    // The emptier cell: 3.4 + 0.8 z + 0.25 × 0.05 = 3.45.
    const soc = (3.45 - 0.0125 - 3.4) / 0.8;
    expect(charge.phases[0].endTimeS).toBeCloseTo(((soc - 0.02) * 2.5 * 3600) / 0.25, 6);
    expect(charge.limits[0]).toMatchObject({ limit: 'precharge-current', cell: null });
  });

  it('stages hand over by SOC, voltage, temperature and time', () => {
    const cell = () => [charged(linearCell(2.5, 0.05, { thermal }), 0.1)];
    const none = { soc: null, cellVoltageV: null, temperatureC: null, durationS: null };
    const ends = [
      {
        until: { ...none, soc: 0.3 },
        check: (r: ReturnType<typeof simulateCharge>) => r.phases[0].endTimeS,
        want: 720,
      },
      {
        until: { ...none, durationS: 500 },
        check: (r: ReturnType<typeof simulateCharge>) => r.phases[0].endTimeS,
        want: 500,
      },
    ];
    for (const { until, check, want } of ends) {
      const stages = [
        { currentA: 2.5, until },
        { currentA: 1, until: null },
      ];
      expect(check(simulateCharge(setupOf(cell(), { stages })))).toBeCloseTo(want, 6);
    }
    const byVoltage = [
      { currentA: 2.5, until: { ...none, cellVoltageV: 4 } },
      { currentA: 1, until: null },
    ];
    const voltage = simulateCharge(setupOf(cell(), { stages: byVoltage }));
    expect(voltage.phases[0].endTimeS).toBeCloseTo(((4 - 3.4 - 0.125) / 0.8 - 0.1) * 3600, 6);
    const byHeat = [
      { currentA: 2.5, until: { ...none, temperatureC: 28 } },
      { currentA: 1, until: null },
    ];
    const heat = simulateCharge(setupOf(cell(), { stages: byHeat }));
    // 25 + ΔT∞ (1 − e^(−t/τ)) = 28 with ΔT∞ = 0.3125 / 0.0418 K and τ = 47.5 / 0.0418 s.
    const tau = 47.5 / 0.0418;
    expect(heat.phases[0].endTimeS).toBeCloseTo(-tau * Math.log(1 - 3 / (0.3125 / 0.0418)), 4);
  });

  it('with only the stack watched a smaller cell is overcharged while the sum looks right', () => {
    const cells = [charged(linearCell(2.3, 0.05), 0.2), charged(linearCell(2.6, 0.05), 0.1)];
    const perCell = simulateCharge(setupOf(cells));
    const stackOnly = simulateCharge(setupOf(cells, { watch: 'stack-only' }));
    expect(perCell.cells.every((cell) => cell.overvoltageV === 0)).toBe(true);
    expect(stackOnly.cells[0].overvoltageV).toBeGreaterThan(0.03);
    expect(stackOnly.cells[0].overvoltageDurationS).toBeGreaterThan(600);
    expect(stackOnly.cells[1].overvoltageV).toBe(0);
    const sum = stackOnly.cells[0].endVoltageV + stackOnly.cells[1].endVoltageV;
    expect(sum).toBeCloseTo(8.4, 9);
    expect(stackOnly.limits.at(-1)?.limit).toBe('stack-voltage');
  });

  it('a current bypass takes its current for as long as it is on, and only from its cell', () => {
    const first: ChargedCell = charged(linearCell(2.4, 0.05), 0.2, {
      bypass: { kind: 'current', value: 0.2, ...bypass },
    });
    const cells = [first, charged(linearCell(2.5, 0.05), 0.1)];
    const charge = simulateCharge(setupOf(cells));
    const plain = simulateCharge(setupOf([{ ...first, bypass: null }, cells[1]]));
    expect(charge.cells[0].bypassChargeAh).toBeGreaterThan(0);
    expect(charge.cells[1].bypassChargeAh).toBe(0);
    const spread = (r: typeof charge) => Math.abs(r.cells[0].endSoc - r.cells[1].endSoc);
    expect(spread(charge)).toBeLessThan(spread(plain));
    expect(Math.abs(charge.energy.balanceErrorRelative ?? 1)).toBeLessThan(1e-9);
    // What went through the second cell went through the first or past it.
    const throughSecond = (charge.cells[1].endSoc - 0.1) * 2.5;
    const throughFirst = (charge.cells[0].endSoc - 0.2) * 2.4;
    expect(throughFirst + charge.cells[0].bypassChargeAh).toBeCloseTo(throughSecond, 9);
  });

  it('ends where no cell takes more than the end current though the bypasses draw more, and says so', () => {
    // Held at 4.2 V the current into the cell is (4.2 − OCV) / R0, whatever the bypass takes beside it.
    const cell = (soc: number, kind: 'current' | 'resistor') =>
      charged(linearCell(2.5, 0.05), soc, {
        bypass: { kind, value: kind === 'current' ? 0.5 : 8.4, ...bypass },
      });
    for (const kind of ['current', 'resistor'] as const) {
      const charge = simulateCharge(setupOf([cell(0.2, kind), cell(0.25, kind)]));
      expect(charge.endReason).toBe('bypass-exceeds-end-current');
      expect(charge.phases.at(-1)?.endCurrentA).toBeGreaterThan(0.5);
      const endSocs = charge.cells.map((c) => c.endSoc);
      expect(Math.max(...charge.cells.map((c) => c.endVoltageV))).toBeCloseTo(4.2, 6);
      // The less charged cell takes just the end current: 4.2 V − 0.125 A × 0.05 Ω is above its OCV or equal to it.
      for (const soc of endSocs) expect(3.4 + 0.8 * soc).toBeLessThan(4.2);
      expect(Math.abs(charge.energy.balanceErrorRelative ?? 1)).toBeLessThan(1e-9);
    }
    const one = simulateCharge(setupOf([cell(0.2, 'current')]));
    expect(one.endReason).toBe('bypass-exceeds-end-current');
    expect(one.phases.at(-1)?.endCurrentA).toBeCloseTo(0.625, 8);
    expect(3.4 + 0.8 * one.cells[0].endSoc).toBeCloseTo(4.2 - 0.125 * 0.05, 8);
  });

  it('goes on while a cell beside the bypassed one still takes its current', () => {
    const first = charged(linearCell(2.5, 0.05), 0.5, {
      bypass: { kind: 'current', value: 0.5, ...bypass },
    });
    const charge = simulateCharge(setupOf([first, charged(linearCell(2.5, 0.05), 0.3)]));
    expect(charge.endReason).toBe('end-current');
    expect(3.4 + 0.8 * charge.cells[1].endSoc).toBeCloseTo(4.2 - 0.125 * 0.05, 6);
  });

  it('no bypass, however large, keeps a charge going until the longest time', () => {
    const cell = fc.record({
      soc: fc.double({ min: 0.1, max: 0.7, noNaN: true }),
      r0: fc.double({ min: 0.01, max: 0.08, noNaN: true }),
      drawA: fc.double({ min: 0.02, max: 1.5, noNaN: true }),
      resistor: fc.boolean(),
      startV: fc.double({ min: 4.05, max: 4.19, noNaN: true }),
    });
    const seen = new Set<string>();
    fc.assert(
      fc.property(
        fc.array(cell, { minLength: 1, maxLength: 3 }),
        fc.double({ min: 0.4, max: 3, noNaN: true }),
        (cells, currentA) => {
          const stack = cells.map(({ soc, r0, drawA, resistor, startV }) =>
            charged(linearCell(2.5, r0, { branches: [branch(0.02, 60)] }), soc, {
              bypass: {
                kind: resistor ? 'resistor' : 'current',
                value: resistor ? 4.2 / drawA : drawA,
                startVoltageV: startV,
                // Below what it lowers the voltage at once, or the setup is refused.
                stopVoltageV: startV - 0.03 - 1.1 * drawA * r0,
                atRest: false,
              },
            }),
          );
          const charge = simulateCharge(setupOf(stack, { stages: [{ currentA, until: null }] }));
          expect(['end-current', 'bypass-exceeds-end-current']).toContain(charge.endReason);
          seen.add(charge.endReason);
          if (charge.endReason === 'end-current') return;
          const flowing = charge.phases.at(-1)?.endCurrentA ?? 0;
          expect(flowing).toBeGreaterThan(0.125);
          cells.forEach(({ drawA, resistor }, k) => {
            const past = resistor ? (drawA * charge.cells[k].endVoltageV) / 4.2 : drawA;
            expect(flowing - past).toBeLessThan(0.125 + 1e-6);
          });
        },
      ),
      { numRuns: 60, seed: 5, endOnFailure: true },
    );
    expect(seen.size).toBe(2);
  });

  it('a bypass that draws more than the charger gives ends the charge instead of switching on and off', () => {
    const cell = charged(linearCell(2.5, 0.05), 0.5, {
      bypass: { kind: 'current', value: 0.6, ...bypass },
    });
    const charge = simulateCharge(setupOf([cell], { stages: [{ currentA: 0.5, until: null }] }));
    expect(charge.endReason).toBe('bypass-exceeds-end-current');
    expect(charge.cells[0].peakVoltageV).toBeCloseTo(4.1, 8);
  });

  it('a resistor bypass discharges its cell at rest only where it may', () => {
    const cell = (atRest: boolean) =>
      charged(linearCell(2.4, 0.05), 0.5, {
        bypass: { kind: 'resistor', value: 40, startVoltageV: 4.1, stopVoltageV: 4.05, atRest },
      });
    const rest = { restAfterS: 7200 };
    const resting = simulateCharge(setupOf([cell(true)], rest));
    const holding = simulateCharge(setupOf([cell(false)], rest));
    expect(resting.phases.at(-1)?.kind).toBe('rest');
    expect(resting.cells[0].bypassChargeAh).toBeGreaterThan(holding.cells[0].bypassChargeAh + 0.1);
    // At rest through 40 Ω: dz/dt = −OCV / ((R + R0) Q), an exponential in OCV, from the end of the charge to 4.05 V or for 2 h.
    const tau = (40.05 * 2.4 * 3600) / 0.8;
    const from = 3.4 + 0.8 * resting.cells[0].endSoc;
    const afterRest = from * Math.exp(-7200 / tau);
    const drained = ((from - afterRest) / 0.8) * 2.4;
    expect(resting.cells[0].bypassChargeAh - holding.cells[0].bypassChargeAh).toBeCloseTo(drained, 6);
  });

  it('a stepped taper goes down by the current step of the supply and never above the limit', () => {
    const source = {
      minVoltageV: 3,
      maxVoltageV: 12,
      maxCurrentA: 3,
      maxPowerW: null,
      voltageStepV: 0.02,
      currentStepA: 0.25,
    };
    const supply = {
      source,
      cable: { resistanceOhm: 0.1, maxCurrentA: null },
      ratioStage: null,
      regulator: null,
    };
    const charge = simulateCharge(
      setupOf([charged(linearCell(2.5, 0.05), 0.1)], { taper: 'stepped', supply }),
    );
    const currents = charge.phases.map((phase) => phase.startCurrentA);
    expect(currents[0]).toBeCloseTo(2.5, 12);
    expect(currents.slice(1)).toEqual(currents.slice(1).sort((a, b) => b - a));
    for (const current of currents) expect(current / 0.25).toBeCloseTo(Math.round(current / 0.25), 9);
    expect(charge.cells[0].peakVoltageV).toBeLessThan(4.2 + 1e-9);
    expect(charge.endReason).toBe('end-current');
    expect(charge.phases.length).toBe(10);
  });

  it('ends where a cell passes the temperature limit, and says so', () => {
    const cell = charged(linearCell(2.5, 0.05, { thermal }), 0.1, { maxTemperatureC: 28 });
    const charge = simulateCharge(setupOf([cell]));
    expect(charge.endReason).toBe('temperature');
    expect(charge.cells[0].endTemperatureC).toBeCloseTo(28, 7);
  });

  it('what is stored, lost and bypassed adds up, and no watched cell passes its limit, for any stack', () => {
    const cell = fc.record({
      capacity: fc.double({ min: 1, max: 5, noNaN: true }),
      r0: fc.double({ min: 0.005, max: 0.08, noNaN: true }),
      r1: fc.double({ min: 0, max: 0.03, noNaN: true }),
      tau: fc.double({ min: 0.5, max: 800, noNaN: true }),
      soc: fc.double({ min: 0, max: 0.7, noNaN: true }),
      limit: fc.double({ min: 4.05, max: 4.2, noNaN: true }),
      bypass: fc.boolean(),
    });
    fc.assert(
      fc.property(
        fc.array(cell, { minLength: 1, maxLength: 3 }),
        fc.double({ min: 0.3, max: 3, noNaN: true }),
        (cells, rate) => {
          const smallest = Math.min(...cells.map((c) => c.capacity));
          const stack = cells.map((c) =>
            charged(linearCell(c.capacity, c.r0, { branches: [branch(c.r1, c.tau)], thermal }), c.soc, {
              voltageLimitV: c.limit,
              bypass: c.bypass
                ? { kind: 'resistor', value: 30, startVoltageV: 4, stopVoltageV: 3.95, atRest: false }
                : null,
            }),
          );
          // The end current is above what a bypass takes at the limit: the charger's own current falls to it.
          const charge = simulateCharge(
            setupOf(stack, {
              stages: [{ currentA: rate * smallest, until: null }],
              endCurrentA: Math.max(0.05 * smallest, 0.2),
            }),
          );
          expect(charge.endReason).toBe('end-current');
          charge.cells.forEach((c, k) => {
            expect(c.peakVoltageV).toBeLessThan(cells[k].limit + 2e-7);
          });
          expect(Math.abs(charge.energy.balanceErrorRelative ?? 1)).toBeLessThan(1e-8);
          const ends = charge.limits.map((stretch) => stretch.endTimeS);
          charge.limits.slice(1).forEach((stretch, s) => {
            expect(stretch.startTimeS).toBe(ends[s]);
          });
        },
      ),
      { numRuns: 150, seed: 11 },
    );
  });

  it.each([
    [{ startSoc: 1.2 }, {}, 'cells[0].startSoc is 1.2; it must lie from 0 to 1'],
    [
      { startSoc: 0.9, voltageLimitV: 4 },
      {},
      'not above its open-circuit voltage 4.1200 V at the start SOC 0.9',
    ],
    [{ voltageLimitV: 4.3 }, {}, "is 4.3 V, above the datasheet's 4.2 V"],
    [
      {
        bypass: { kind: 'current' as const, value: 2, startVoltageV: 4.1, stopVoltageV: 4.05, atRest: false },
      },
      {},
      'would switch itself off: its 2.00 A lower the voltage by 0.100 V at once',
    ],
    [{}, { endCurrentA: 0 }, 'endCurrentA is 0; it must be above 0'],
    [{}, { stages: [] }, 'stages is empty'],
  ])('refuses %j %j and says why', (cell, setup, message) => {
    const stack = [{ ...charged(linearCell(2.5, 0.05), 0.1), ...cell }];
    expect(() => simulateCharge(setupOf(stack, setup))).toThrow(message);
  });
});
