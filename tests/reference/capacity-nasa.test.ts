import { describe, expect, it } from 'vitest';
import { evaluateCapacityRecord } from '../../server/assess/capacity/evaluateCapacityRecord.ts';
import { groupRows, numbers, readCsv } from '../support/readCsv.ts';
import { sharedIsMissing, sharedPath } from '../support/required.ts';

// Source: B. Saha and K. Goebel, "Battery Data Set", NASA Ames Prognostics Data Repository (2007); the source's own
// capacity is the integral to the first sample below 2.7 V.
const folder = 'datasets/nasa-pcoe';
const files = [
  ['discharge_series_B0005.csv', 10],
  ['discharge_series_B0029_hot.csv', 3],
  ['discharge_series_B0046_cold.csv', 4],
  ['pulsed_discharge_series_B0025.csv', 3],
] as const;

describe.skipIf(sharedIsMissing(`${folder}/discharge_capacity.csv`))(
  'capacities of the NASA Ames cells',
  () => {
    const table = readCsv(sharedPath(`${folder}/discharge_capacity.csv`));
    const published = new Map(
      table.rows.map((row) => [`${row[0]}/${row[1]}`, [Number(row[8]), Number(row[9])]]),
    );

    it.each(files)('are reproduced to 0.1 %% in every run of %s', (file, count) => {
      const runs = groupRows(readCsv(sharedPath(`${folder}/${file}`)).rows, 0, 1);
      expect(runs.size).toBe(count);
      for (const [key, rows] of runs) {
        const columns = { timeS: numbers(rows, 3), voltageV: numbers(rows, 4), currentA: numbers(rows, 5) };
        const settings = {
          cutoffVoltageV: 2.7,
          definition: 'first-sample-below',
          ratedCapacityAh: 2,
        } as const;
        const result = evaluateCapacityRecord(columns, settings);
        const [capacityAh, toEndAh] = published.get(key) ?? [Number.NaN, Number.NaN];
        expect(result.runs, key).toHaveLength(1);
        expect(Math.abs((result.runs[0].capacityAh ?? 0) / capacityAh - 1), key).toBeLessThan(0.001);
        expect(Math.abs(result.runs[0].chargeToEndAh / toEndAh - 1), key).toBeLessThan(0.001);
        const crossing = evaluateCapacityRecord(columns, {
          ...settings,
          definition: 'interpolated-crossing',
        });
        const interpolatedAh = crossing.runs[0].capacityAh ?? 0;
        expect(interpolatedAh, key).toBeLessThanOrEqual(result.runs[0].capacityAh ?? 0);
        expect(interpolatedAh, key).toBeGreaterThan(0.99 * capacityAh);
      }
    });

    it('of a charge are split at 4.2 V, with the start-up spike left out and named', () => {
      const runs = groupRows(readCsv(sharedPath(`${folder}/charge_series_B0005.csv`)).rows, 0, 1);
      const shares: number[] = [];
      for (const [key, rows] of runs) {
        const columns = { timeS: numbers(rows, 3), voltageV: numbers(rows, 4), currentA: numbers(rows, 5) };
        const result = evaluateCapacityRecord(columns, {
          cutoffVoltageV: 2.7,
          definition: 'interpolated-crossing',
          ratedCapacityAh: 2,
        });
        expect(
          result.runs.map((run) => run.direction),
          key,
        ).toEqual(['charge']);
        expect(result.runs[0].phases?.holdVoltageV ?? 0, key).toBeCloseTo(4.205, 2);
        // The data set states a taper to 20 mA.
        expect(result.runs[0].phases?.endCurrentA ?? 0, key).toBeLessThan(0.03);
        expect(result.runs[0].phases?.endCurrentA ?? 0, key).toBeGreaterThan(0.01);
        expect(result.warnings.map((warning) => warning.code)).toContain('start-up-spike-ignored');
        shares.push(result.runs[0].phases?.constantVoltageShare ?? 0);
      }
      // Resistance rises over life, so the voltage limit is met earlier and more is charged at constant voltage.
      expect(shares).toEqual([...shares].sort((a, b) => a - b));
      expect(shares[2]).toBeGreaterThan(1.5 * shares[0]);
    });
  },
);
