import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { bufferSource } from '../../server/import/byteSource.ts';
import { findFileKind } from '../../server/import/fileKind.ts';
import { readRecordRuns } from '../../server/import/readRecordFile.ts';
import { openTable } from '../../server/import/streamRecord.ts';
import { sharedIsMissing, sharedPath } from '../support/required.ts';

/** Files of ../shared/datasets with the number of their runs and rows, as its README states them. */
const records: Readonly<Record<string, readonly [runs: number, rows: number]>> = {
  'leaf-33ah/hppc_25degC.csv': [1, 13_248],
  'leaf-33ah/hppc_10degC.csv': [1, 13_360],
  'leaf-33ah/discharge_1C_cycles.csv': [1, 2287],
  'leaf-33ah/discharge_2C_cycles.csv': [1, 2507],
  'leaf-33ah/c15_cycles_2_3.csv': [1, 4529],
  'panasonic-18650pf/hppc_25degC.csv': [1, 21_451],
  'panasonic-18650pf/hppc_n10degC.csv': [1, 15_204],
  'panasonic-18650pf/c20_discharge_charge_25degC.csv': [1, 2453],
  'panasonic-18650pf/discharge_1C_25degC_start_and_end.csv': [4, 1414],
  'nasa-pcoe/discharge_series_B0005.csv': [10, 2855],
  'nasa-pcoe/charge_series_B0005.csv': [3, 8294],
  'nasa-pcoe/discharge_series_B0029_hot.csv': [3, 482],
  'nasa-pcoe/discharge_series_B0046_cold.csv': [4, 1567],
  'nasa-pcoe/pulsed_discharge_series_B0025.csv': [3, 1757],
};
const tables: Readonly<Record<string, string>> = {
  'lfp-fast-charge/cycle_summary.csv': 'cycle-table',
  'nasa-pcoe/discharge_capacity.csv': 'cycle-table',
  'nasa-pcoe/impedance.csv': 'cycle-table',
  'pulsebat-retired/nmc_21Ah_pulse_table.csv': 'cell-table',
  'pulsebat-retired/lmo_10Ah_pulse_table.csv': 'cell-table',
  'pulsebat-retired/steps_nmc21_b6.csv': 'step-table',
  'panasonic-18650pf/eis_25degC.csv': 'impedance-table',
  'panasonic-18650pf/eis_10degC.csv': 'impedance-table',
  'panasonic-18650pf/eis_n10degC.csv': 'impedance-table',
};

describe.skipIf(sharedIsMissing('datasets'))('the published data sets', () => {
  for (const [name, [runs, rows]] of Object.entries(records)) {
    it(`${name} is read as ${runs} runs, every number equal to Number() of its text`, async () => {
      const path = sharedPath(`datasets/${name}`);
      const found = await readRecordRuns(path);
      expect(found.length).toBe(runs);
      expect(found.reduce((sum, run) => sum + run.rowCount, 0)).toBe(rows);
      const lines = readFileSync(path, 'utf8').trimEnd().split('\n');
      const header = lines[0].split(',');
      for (const run of found) {
        const timeAt = header.indexOf('time_s');
        const currentAt = header.indexOf('current_A');
        const voltageAt = header.indexOf('voltage_V');
        for (let i = 0; i < run.rowCount; i++) {
          const fields = lines[run.firstLine - 1 + i].split(',');
          const same =
            Object.is(run.columns.timeS[i], Number(fields[timeAt])) &&
            Object.is(run.columns.currentA[i], Number(fields[currentAt])) &&
            Object.is(run.columns.voltageV[i], Number(fields[voltageAt]));
          if (!same) throw new Error(`${name}, line ${run.firstLine + i} was read differently`);
        }
      }
    });
  }

  for (const [name, kind] of Object.entries(tables)) {
    it(`${name} is recognised as a ${kind}`, async () => {
      const { head } = await openTable(bufferSource(readFileSync(sharedPath(`datasets/${name}`))));
      expect(findFileKind(head)).toBe(kind);
    });
  }

  it('keep both rows of a time stamp at step ends', async () => {
    const [run] = await readRecordRuns(sharedPath('datasets/panasonic-18650pf/hppc_25degC.csv'));
    const { timeS } = run.columns;
    let doubled = 0;
    for (let i = 1; i < timeS.length; i++) if (timeS[i] === timeS[i - 1]) doubled++;
    // 104 as the data set's README counts them.
    expect(doubled).toBe(104);
  });
});
