import { describe, expect, it } from 'vitest';
import { BRANCH, ENTROPIC, OCV, R0, SLOPE } from '../../../fitting/charging/cellModel.ts';
import { linearCell, row } from './builders.ts';

function read(cell: ReturnType<typeof linearCell>, soc: number, temperatureC: number): Float64Array {
  const out = new Float64Array(cell.stride);
  cell.evaluate(soc, temperatureC, cell.socStretch(soc), cell.temperatureStretch(temperatureC), out, 0);
  return out;
}

const twoByTwo = () =>
  linearCell(2, 0.05, {
    temperatureC: row(0, 40),
    ocv: { kind: 'table', values: row(3, 3.2, 4, 4.4), interpolation: 'linear' },
    r0Ohm: row(0.04, 0.02, 0.08, 0.04),
    branches: [{ rOhm: row(0.01, 0.01, 0.03, 0.03), tauS: row(10, 10, 20, 20) }],
    entropicVPerK: row(0, 0, 1e-4, 1e-4),
  });

describe('the cell model', () => {
  it('reads every table by straight lines in SOC and temperature', () => {
    const p = read(twoByTwo(), 0.5, 10);
    expect(p[OCV]).toBeCloseTo(3.5 + 0.25 * (3.8 - 3.5), 12);
    expect(p[SLOPE]).toBeCloseTo(1 + 0.25 * 0.2, 12);
    expect(p[R0]).toBeCloseTo(0.06 + 0.25 * (0.03 - 0.06), 12);
    expect(p[ENTROPIC]).toBeCloseTo(5e-5, 12);
    expect(p[BRANCH] / p[BRANCH + 1]).toBeCloseTo(0.02, 12);
    expect(1 / p[BRANCH + 1]).toBeCloseTo(15, 12);
  });

  it('holds the edge outside the temperatures, and outside SOC for all but the OCV', () => {
    const cell = twoByTwo();
    expect(read(cell, 0.5, -30)[R0]).toBe(read(cell, 0.5, 0)[R0]);
    expect(read(cell, 0.5, 90)[R0]).toBe(read(cell, 0.5, 40)[R0]);
    expect(read(cell, 1.1, 0)[R0]).toBe(0.08);
    expect(read(cell, -0.1, 0)[R0]).toBe(0.04);
    expect(read(cell, 1.1, 0)[OCV]).toBeCloseTo(4.1, 12);
    expect(read(cell, -0.1, 0)[OCV]).toBeCloseTo(2.9, 12);
  });

  it('multiplies the resistance by the Arrhenius factor', () => {
    const cell = linearCell(2, 0.05, {
      arrhenius: { activationEnergyJPerMol: 25_000, referenceTemperatureC: 25, branchesToo: false },
    });
    expect(read(cell, 0.5, 0)[R0] / 0.05).toBeCloseTo(2.5169, 4);
    expect(read(cell, 0.5, 45)[R0] / 0.05).toBeCloseTo(0.5305, 4);
  });

  it('reads a pchip OCV through its points, without overshoot and with its own slope', () => {
    const soc = row(0, 0.1, 0.3, 0.6, 0.9, 1);
    const values = row(3, 3.4, 3.5, 3.52, 4, 4.2);
    const cell = linearCell(2, 0.05, {
      soc,
      ocv: { kind: 'table', values, interpolation: 'pchip' },
      r0Ohm: new Float64Array(6).fill(0.05),
    });
    soc.forEach((z, k) => {
      expect(read(cell, z, 25)[OCV]).toBeCloseTo(values[k], 12);
    });
    let before = 3;
    for (let z = 0.001; z < 1; z += 0.001) {
      const [value, slope] = read(cell, z, 25);
      expect(value).toBeGreaterThanOrEqual(before - 1e-12);
      before = value;
      const numeric = (read(cell, z + 1e-7, 25)[OCV] - read(cell, z - 1e-7, 25)[OCV]) / 2e-7;
      expect(slope).toBeCloseTo(numeric, 4);
    }
  });

  it.each([
    [{ capacityAh: 0 }, 'capacityAh is 0; it must be above 0'],
    [{ soc: row(0, 0) }, 'soc[1] is 0, not above 0 before it; the grid must ascend'],
    [{ r0Ohm: row(0.05) }, 'r0Ohm has 1 values; the grid has 2 points'],
    [{ r0Ohm: row(0.05, -1) }, 'r0Ohm[1] is -1; it must be above 0'],
    [
      { branches: [{ rOhm: row(0.01, 0.01), tauS: row(10, 0) }] },
      'branches[0].tauS[1] is 0; it must be above 0',
    ],
    [
      { thermal: { heatCapacityJPerK: 0, heatTransferWPerK: 1 } },
      'thermal.heatCapacityJPerK is 0; it must be above 0',
    ],
  ])('refuses %j and says where', (override, message) => {
    expect(() => linearCell(2, 0.05, override)).toThrow(message);
  });
});
