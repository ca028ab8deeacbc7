import { describe, expect, it } from 'vitest';
import { simulateCharge } from '../../../fitting/charging/simulateCharge.ts';
import { charged, linearCell, row, setupOf } from './builders.ts';

/** A cell with tables up to a SOC, at 25 and 45 °C. */
const cellUpTo = (top: number) =>
  linearCell(2.5, 0.03, {
    soc: row(0, top),
    temperatureC: row(25, 45),
    ocv: { kind: 'table', values: row(3.4, 3.4, 3.4 + 0.8 * top, 3.4 + 0.8 * top), interpolation: 'linear' },
    r0Ohm: row(0.03, 0.03, 0.03, 0.03),
  });
const chargeOf = (top: number, startTemperatureC: number) =>
  simulateCharge(setupOf([charged(cellUpTo(top), 0, { startTemperatureC })])).cells[0];

describe('a charge at the edge of its parameter tables', () => {
  it('is not extrapolated at the exact ends of the tables, which were measured', () => {
    for (const edgeC of [25, 45]) {
      const cell = chargeOf(1, edgeC);
      expect(cell.socOutsideTable).toBe(false);
      expect(cell.temperatureOutsideTable).toBe(false);
    }
  });

  it('is extrapolated beyond them', () => {
    expect(chargeOf(0.9, 30)).toMatchObject({ socOutsideTable: true, temperatureOutsideTable: false });
    expect(chargeOf(1, 46).temperatureOutsideTable).toBe(true);
    expect(chargeOf(1, 24).temperatureOutsideTable).toBe(true);
  });
});
