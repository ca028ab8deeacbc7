import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it, vi } from 'vitest';
import type { RecordColumns } from '../../fitting/records/record.ts';
import { evaluateCapacityRecord } from '../../server/assess/capacity/evaluateCapacityRecord.ts';

import { createProgram, runProgram } from '../../server/commands/program.ts';
import { type CapacityResult, capacityResult } from '../../server/contract/capacity.ts';
import { type DischargeOptions, simulateDischarge } from '../support/dischargeRecord.ts';
import { registerEvaluate } from '../support/registerEvaluate.ts';
import { sharedIsMissing, sharedPath } from '../support/required.ts';

const folder = mkdtempSync(join(tmpdir(), 'evaluate-capacity-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
let files = 0;

/** `gemel evaluate capacity FILE`, in this process. */
async function command(file: string, ...args: string[]): Promise<{ code: number; out: string; err: string }> {
  const program = createProgram();
  registerEvaluate(program);
  const written = { out: '', err: '' };
  const catchInto = (key: 'out' | 'err') => (text: string | Uint8Array) => {
    written[key] += String(text);
    return true;
  };
  const spies = [
    vi.spyOn(process.stdout, 'write').mockImplementation(catchInto('out')),
    vi.spyOn(process.stderr, 'write').mockImplementation(catchInto('err')),
  ];
  try {
    return { code: await runProgram(program, ['evaluate', 'capacity', file, ...args]), ...written };
  } finally {
    for (const spy of spies) spy.mockRestore();
  }
}

/** Writes a record as a file and evaluates it with the command. */
async function evaluate(
  record: RecordColumns,
  args: readonly string[],
  words?: (row: number) => string,
): Promise<CapacityResult> {
  const file = join(folder, `record-${files++}.csv`);
  const rows = [...record.timeS].map(
    (t, i) => `${t},${record.voltageV[i]},${record.currentA[i]}${words === undefined ? '' : `,${words(i)}`}`,
  );
  writeFileSync(
    file,
    `time_s,voltage_V,current_A${words === undefined ? '' : ',mode'}\n${rows.join('\n')}\n`,
  );
  const { code, out, err } = await command(file, ...args, '--json');
  expect(code, err).toBe(0);
  return capacityResult.parse(JSON.parse(out));
}

const cutoff = ['--cutoff', '2.7'];
const usual: DischargeOptions = { seed: 3, intervalS: 5, noiseV: 2e-4, noiseA: 1e-3 };
const codes = (result: CapacityResult): string[] => result.warnings.map(({ code }) => code);

/** Whether the true value lies within the stated 95 % interval, and that is no wider than `withinAh`. */
function expectCovered(result: CapacityResult, trueAh: number, withinAh: number, run = 0): void {
  const [low, high] = result.runs[run].interval95Ah ?? [Number.NaN, Number.NaN];
  expect(trueAh).toBeGreaterThan(low);
  expect(trueAh).toBeLessThan(high);
  expect(high - low).toBeLessThan(withinAh);
}

describe('gemel evaluate capacity: the end of a discharge', () => {
  it('is not a single row at 0 V in the middle, which is named', async () => {
    const { record, trueAh } = simulateDischarge(usual);
    for (const value of [0, 1.9]) {
      const voltageV = record.voltageV.slice();
      voltageV[400] = value;
      const result = await evaluate({ ...record, voltageV }, cutoff);
      expectCovered(result, trueAh, 0.02);
      const warning = result.warnings.find(({ code }) => code === 'bad-rows-replaced');
      expect(warning).toEqual({ code: 'bad-rows-replaced', runs: [0], rows: [400] });
    }
  });

  it('is not a dip below the cut-off at the start of a cold cell', async () => {
    const { record, trueAh } = simulateDischarge(usual);
    const first = record.currentA.findIndex((current) => current < -1);
    const voltageV = record.voltageV.map((v, i) =>
      i >= first && i < first + 4 ? 2.62 + 0.01 * (i - first) : v,
    );
    const result = await evaluate({ ...record, voltageV }, cutoff);
    expectCovered(result, trueAh, 0.02);
    expect(result.warnings.find(({ code }) => code === 'dip-below-cutoff')?.rows).toEqual(
      [0, 1, 2, 3].map((k) => first + k),
    );
  });

  it('is where a tester stopped at the cut-off between two rows, also with rows 300 s apart', async () => {
    for (const intervalS of [1, 60, 300]) {
      const { record, trueAh } = simulateDischarge({ ...usual, intervalS });
      const result = await evaluate(record, cutoff);
      expect(result.runs[0].reachedCutoff).toBe(true);
      expectCovered(result, trueAh, 0.0005 + 0.0015 * intervalS);
    }
  });

  it('is missing where the discharge was stopped well above the cut-off', async () => {
    const { record } = simulateDischarge(usual);
    const { runs } = await evaluate(record, ['--cutoff', '2.3']);
    expect(runs[0]).toMatchObject({ capacityAh: null, reason: 'did-not-reach-cutoff' });
  });
});

describe('gemel evaluate capacity: the uncertainty', () => {
  const cases: [string, Partial<DischargeOptions>][] = [
    ['ordinary noise', { noiseV: 2e-4, noiseA: 1e-3 }],
    ['much noise', { noiseV: 2e-3, noiseA: 0.015 }],
    ['coarse readings', { noiseV: 2e-4, noiseA: 1e-3, resolutionV: 1e-3, resolutionA: 5e-3 }],
    ['coarse readings and any offset', { noiseA: 1e-3, resolutionA: 5e-3, offsetSpreadA: 5e-3 }],
    ['readings that never leave their step', { noiseA: 1e-4, resolutionA: 0.01, resolutionV: 1e-3 }],
    ['current averaged since the row before', { noiseV: 2e-4, noiseA: 1e-3, averaged: true }],
    ['an offset of 10 mA', { noiseV: 2e-4, noiseA: 2e-3, offsetA: 0.01 }],
  ];
  const phases = ['anywhere', 'after-row', 'at-row'] as const;
  const records = cases.flatMap(([name, made]) =>
    [10, 60, 300].map((intervalS) => [name, intervalS, made] as const),
  );

  it.each(records)('covers the truth with %s and rows %i s apart', (_, intervalS, made) => {
    let inside = 0;
    let all = 0;
    for (let seed = 1; seed <= 12; seed++) {
      for (const phase of phases) {
        const options = { ...made, seed, intervalS, phase, stops: seed % 2 === 0 };
        const { record, trueAh, cutoffV } = simulateDischarge(options);
        const [run] = evaluateCapacityRecord(record, {
          cutoffVoltageV: cutoffV,
          definition: 'interpolated-crossing',
          ratedCapacityAh: 2.5,
        }).runs;
        if (run.capacityAh === null) continue;
        const [low, high] = run.interval95Ah ?? [Number.NaN, Number.NaN];
        all++;
        if (trueAh >= low && trueAh <= high) inside++;
      }
    }
    expect(all).toBeGreaterThan(20);
    // Ten of 36 intervals of 95 % miss in less than one of a million tries; three in a tenth of them.
    expect(inside / all).toBeGreaterThan(0.88);
  });

  it('knows the sampling: rows ten times as far apart make it about ten times as wide', async () => {
    const width = async (intervalS: number): Promise<number> => {
      const { runs } = await evaluate(
        simulateDischarge({ ...usual, intervalS, stops: false }).record,
        cutoff,
      );
      return runs[0].standardUncertaintyAh ?? Number.NaN;
    };
    const ratio = (await width(60)) / (await width(6));
    expect(ratio).toBeGreaterThan(5);
    expect(ratio).toBeLessThan(20);
  });

  it('stays small where the current switches between rows all the time', async () => {
    const { record } = simulateDischarge({ ...usual, intervalS: 10, stops: false });
    const currentA = record.currentA.map((current, i) => (i % 4 < 2 ? current : current / 2));
    const [run] = (await evaluate({ ...record, currentA }, cutoff)).runs;
    expect((run.standardUncertaintyAh ?? 1) / (run.capacityAh ?? 0)).toBeLessThan(0.02);
  });
});

describe('gemel evaluate capacity: what a record cannot tell', () => {
  it('counts no charge over a pause without rows, and says so', async () => {
    const { record, trueAh } = simulateDischarge(usual);
    const pauseS = 1800;
    const timeS = record.timeS.map((t, i) => (i > 500 ? t + pauseS : t));
    const result = await evaluate({ ...record, timeS }, cutoff);
    expectCovered(result, trueAh, 0.03);
    expect(codes(result)).toContain('pause-without-rows');
  });

  it('gives no capacity where neither the rows nor the voltage say what flowed', async () => {
    const { record } = simulateDischarge(usual);
    // A flat voltage: a pause and a load look alike.
    const voltageV = record.voltageV.map((v, i) => (i > 420 && i < 640 ? record.voltageV[420] : v));
    const timeS = record.timeS.map((t, i) => (i > 500 ? t + 1800 : t));
    const [run] = (await evaluate({ ...record, timeS, voltageV }, cutoff)).runs;
    expect(run).toMatchObject({ capacityAh: null, reason: 'gap-in-record' });
  });

  it('takes the current off its offset in rest, and says so', async () => {
    const { record, trueAh } = simulateDischarge({ ...usual, offsetA: 0.012 });
    const result = await evaluate(record, cutoff);
    expect(result.currentOffsetA).toBeCloseTo(0.012, 3);
    expectCovered(result, trueAh, 0.02);
  });

  it('does not report a record that starts in mid-charge as a whole charge', async () => {
    const rows = 600;
    const timeS = Float64Array.from({ length: rows }, (_, i) => 4000 + 10 * i);
    const voltageV = timeS.map((_, i) => Math.min(4.2, 3.8 + 0.001 * i));
    const currentA = timeS.map((_, i) => (i < 400 ? 1 : Math.exp(-(i - 400) / 60)));
    const [run] = (await evaluate({ timeS, voltageV, currentA }, [])).runs;
    expect(run).toMatchObject({
      direction: 'charge',
      capacityAh: null,
      reason: 'starts-under-load',
      chargeTimes: [],
    });
    expect(run.chargeToEndAh).toBeGreaterThan(1);
  });

  it('marks a discharge that the record does not begin with', async () => {
    const { record } = simulateDischarge({ ...usual, noiseV: 1e-5 });
    const part = (column: Float64Array) => column.slice(400);
    const result = await evaluate(
      { timeS: part(record.timeS), voltageV: part(record.voltageV), currentA: part(record.currentA) },
      cutoff,
    );
    expect(result.runs[0]).toMatchObject({ start: 'under-way', conditional: 'starts-under-load' });
    expect(codes(result)).toContain('starts-under-load');
  });
});

describe('gemel evaluate capacity: a record that was cut short', () => {
  const cut = (rows: number) => {
    const { record } = simulateDischarge({ ...usual, noiseV: 1e-5 });
    const part = (column: Float64Array) => column.slice(0, rows);
    return { timeS: part(record.timeS), voltageV: part(record.voltageV), currentA: part(record.currentA) };
  };

  it('ends under load: without a cut-off nothing shows that the discharge was over', async () => {
    const { record } = simulateDischarge(usual);
    const result = await evaluate(cut(Math.floor(0.6 * record.timeS.length)), []);
    const run = result.runs.find(({ direction }) => direction === 'discharge');
    expect(run).toMatchObject({ conditional: 'ends-under-load' });
    expect(codes(result)).toContain('ends-under-load');
  });

  it('is not marked where a rest follows, or the cut-off was reached', async () => {
    const { record } = simulateDischarge(usual);
    for (const options of [[], cutoff]) {
      const result = await evaluate(record, options);
      expect(codes(result)).not.toContain('ends-under-load');
    }
  });
});

describe('gemel evaluate capacity: the sign of the current', () => {
  it('is refused where the voltage contradicts it, and stated by --current-sign', async () => {
    const { record, trueAh } = simulateDischarge(usual);
    const turned = { ...record, currentA: record.currentA.map((current) => -current) };
    const wrong = await evaluate(turned, cutoff);
    expect(wrong.runs[0]).toMatchObject({ capacityAh: null, reason: 'voltage-against-current' });
    expectCovered(await evaluate(turned, [...cutoff, '--current-sign', 'discharge-positive']), trueAh, 0.02);
  });

  it('is taken from a column that states charge or discharge where the current is an amount', async () => {
    const { record, trueAh } = simulateDischarge(usual);
    const amounts = { ...record, currentA: record.currentA.map(Math.abs) };
    for (const [rest, discharge] of [
      ['REST', 'DCHG'],
      ['Rest', 'CC Discharge'],
      ['R', 'D'],
    ]) {
      const result = await evaluate(amounts, cutoff, (i) => (record.currentA[i] < -1 ? discharge : rest));
      expect(result.runs.map((run) => run.direction)).toEqual(['discharge']);
      expectCovered(result, trueAh, 0.02);
    }
  });

  it.skipIf(sharedIsMissing('datasets/leaf-33ah/discharge_1C_cycles.csv'))(
    'of the 33 Ah cell is found again from its mode column when only amounts are left',
    async () => {
      const { readFileSync } = await import('node:fs');
      const [head, ...rows] = readFileSync(sharedPath('datasets/leaf-33ah/discharge_1C_cycles.csv'), 'utf8')
        .trim()
        .split('\n');
      const file = join(folder, 'amounts.csv');
      writeFileSync(file, `${[head, ...rows.map((row) => row.replace(',-', ','))].join('\n')}\n`);
      const { out } = await command(file, '--cutoff', '3', '--rated-capacity', '33.1', '--json');
      const { runs } = capacityResult.parse(JSON.parse(out));
      const discharges = runs
        .filter((run) => run.direction === 'discharge')
        .map((run) => run.capacityAh ?? 0);
      // The source states 30.33 Ah at the first and 30.29 Ah at the last cycle.
      expect(discharges[0]).toBeCloseTo(30.33, 1);
      expect(discharges[3]).toBeCloseTo(30.29, 1);
      expect(runs.every((run) => run.reason === null)).toBe(true);
    },
  );
});

describe.skipIf(sharedIsMissing('datasets/panasonic-18650pf/discharge_1C_25degC_start_and_end.csv'))(
  'gemel evaluate capacity of the 2.9 Ah cell',
  () => {
    it('gives the capacities that the source states, within its intervals', async () => {
      const file = sharedPath('datasets/panasonic-18650pf/discharge_1C_25degC_start_and_end.csv');
      const { out } = await command(file, '--cutoff', '2.5', '--rated-capacity', '2.9', '--json');
      const { runs } = capacityResult.parse(JSON.parse(out));
      const stated = [2.798, 2.752, 2.434, 2.354];
      runs.forEach((run, k) => {
        expect(Math.abs((run.capacityAh ?? 0) - stated[k])).toBeLessThan(0.002);
        expect(run.start).toBe('fresh');
      });
      expect(runs).toHaveLength(4);
    });
  },
);

it('writes a capacity as text with its uncertainty in the digits it deserves, and warnings before it', async () => {
  const { record } = simulateDischarge({ ...usual, offsetA: 0.012 });
  const file = join(folder, 'text.csv');
  const rows = [...record.timeS].map((t, i) => `${t},${record.voltageV[i]},${record.currentA[i]}`);
  writeFileSync(file, `time_s,voltage_V,current_A\n${rows.join('\n')}\n`);
  const { out, err } = await command(file, ...cutoff);
  expect(out).toMatch(/^0 discharge: \d\.\d+ ± 0\.0+[1-9]\d Ah, \d+\.\d+ Wh$/m);
  expect(err).toContain('warning: current-offset-corrected: ');
});
