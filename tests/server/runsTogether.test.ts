import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { seededRandom } from '../../fitting/statistics/random.ts';
import { createProgram, runProgram } from '../../server/commands/program.ts';
import { capacityResult } from '../../server/contract/capacity.ts';
import type { ImportOptions, ImportReport } from '../../server/contract/import.ts';
import { evaluatedPulseRecord } from '../../server/contract/pulseRecord.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { evaluateLot } from '../../server/use-cases/evaluation/evaluateLot.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { traceMeasurement } from '../../server/use-cases/parameters/traceMeasurement.ts';
import { registerEvaluate } from '../support/registerEvaluate.ts';
import { selectAll } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { makeLot } from './importLot.ts';

let app: TestApp;
let lotId: number;
const folder = mkdtempSync(join(tmpdir(), 'gemel-runs-'));
beforeAll(async () => {
  app = await openTestApp();
  lotId = await makeLot(app.context.store, 'L-1');
});
afterAll(async () => {
  await app.close();
  rmSync(folder, { recursive: true });
});

interface Row {
  readonly timeS: number;
  readonly text: string;
}

/** Rests of 120 s and pulses of 20 s, discharge and charge in turn, 1 s apart: 50 mOhm at once and 20 mOhm with 8 s. */
function pulseRows(): Row[] {
  const random = seededRandom(11);
  const currents = [-2, 2, -2, 2].flatMap((pulse) => [
    ...Array<number>(120).fill(0),
    ...Array<number>(20).fill(pulse),
  ]);
  let slowV = 0;
  return [...currents, ...Array<number>(120).fill(0)].map((currentA, timeS) => {
    slowV += (0.02 * currentA - slowV) * -Math.expm1(-1 / 8);
    const voltageV = 3.7 + 0.05 * currentA + slowV + 2e-5 * (random() - 0.5);
    return { timeS, text: `${voltageV.toFixed(5)},${currentA}` };
  });
}

/** The same rows, cut where every current changes: the time starts again with each run. */
function cutAt(rows: readonly Row[], columns = 'run,'): string {
  const edges = [0, 120, 140, 260, 280, 400, 420, 540, 560];
  const runOf = (timeS: number) => edges.filter((edge) => edge <= timeS).length;
  const lines = rows.map(({ timeS, text }) => `${runOf(timeS)},${timeS - edges[runOf(timeS) - 1]},${text}`);
  return `${columns}time_s,voltage_V,current_A\n${lines.join('\n')}\n`;
}

const whole = (rows: readonly Row[]) =>
  `time_s,voltage_V,current_A\n${rows.map(({ timeS, text }) => `${timeS},${text}`).join('\n')}\n`;

/** `gemel evaluate …`, in this process. */
async function command(kind: string, text: string, ...args: string[]) {
  const file = join(folder, 'record.csv');
  writeFileSync(file, text);
  const program = createProgram();
  registerEvaluate(program);
  const written = { out: '', err: '' };
  const into = (key: 'out' | 'err') => (piece: string | Uint8Array) => {
    written[key] += String(piece);
    return true;
  };
  const spies = [
    vi.spyOn(process.stdout, 'write').mockImplementation(into('out')),
    vi.spyOn(process.stderr, 'write').mockImplementation(into('err')),
  ];
  try {
    return { code: await runProgram(program, ['evaluate', kind, file, ...args, '--json']), ...written };
  } finally {
    for (const spy of spies) spy.mockRestore();
  }
}

const figures = (json: string) =>
  evaluatedPulseRecord
    .parse(JSON.parse(json))
    .pulses.map(({ direction, startTimeS, resistances, circuit }) => ({
      direction,
      startTimeS,
      ohm: resistances.map(({ valueOhm }) => valueOhm),
      r0: circuit?.r0Ohm,
    }));

describe('runs of a file whose time starts again', () => {
  it('are refused with the way to evaluate them as one record', async () => {
    const { code, err } = await command('pulse', cutAt(pulseRows()));
    expect(code).toBe(1);
    expect(err).toContain('--together');
  });

  it('give as one record what the uncut record gives, to the last digit but rounding', async () => {
    const rows = pulseRows();
    const uncut = figures((await command('pulse', whole(rows))).out);
    const { code, out, err } = await command('pulse', cutAt(rows), '--together', '--run-gap', '1');
    expect(code).toBe(0);
    expect(figures(out)).toEqual(uncut);
    expect(uncut).toHaveLength(4);
    expect(err).toContain('9 runs were evaluated as one record, end to end with 1 s between them');
    const { joined } = evaluatedPulseRecord.parse(JSON.parse(out)).record;
    expect(joined).toMatchObject({ follow: 'end-to-end', gapS: 1 });
    expect(joined?.runs[3]).toEqual({
      label: 'run 4',
      testId: null,
      firstRow: 260,
      lastRow: 279,
      startTimeS: 260,
    });
  });

  it('without a stated time between them lie as far apart as their rows, and leave open when the current changed', async () => {
    const { out } = await command('pulse', cutAt(pulseRows()), '--together');
    const { pulses, record } = evaluatedPulseRecord.parse(JSON.parse(out));
    expect(record.joined?.gapS).toBeNull();
    expect(record.joined?.runs[3].startTimeS).toBe(260);
    // The same rows as uncut: 1 s apart everywhere.
    const uncut = evaluatedPulseRecord.parse(JSON.parse((await command('pulse', whole(pulseRows()))).out));
    expect(pulses.map(({ resistances }) => resistances)).toEqual(
      uncut.pulses.map(({ resistances }) => resistances),
    );
  });

  it('follow by their instants where they have them, whatever gap is stated', async () => {
    const rows = pulseRows();
    const clock = (timeS: number) =>
      new Date(Date.UTC(2026, 10, 30, 8) + 1000 * timeS).toISOString().slice(0, 19);
    const lines = rows.map(
      ({ timeS, text }) => `${timeS < 260 ? 'a' : 'b'},${clock(timeS + (timeS < 260 ? 0 : 600))},${text}`,
    );
    const { out } = await command(
      'pulse',
      `run,Time,voltage_V,current_A\n${lines.join('\n')}\n`,
      '--together',
    );
    const { joined } = evaluatedPulseRecord.parse(JSON.parse(out)).record;
    expect(joined?.follow).toBe('instants');
    expect(joined?.runs[1].startTimeS).toBe(860);
  });

  it('of several cells are not mixed', async () => {
    const rows = pulseRows();
    const lines = ['A', 'B'].flatMap((cell) =>
      rows.map(({ timeS, text }) => `${cell},${Math.floor(timeS / 260) + 1},${timeS % 260},${text}`),
    );
    const text = `cell,run,time_s,voltage_V,current_A\n${lines.join('\n')}\n`;
    const both = await command('pulse', text, '--together');
    expect(both.code).toBe(1);
    expect(both.err).toContain('--run cell=A');
    const one = await command('pulse', text, '--together', '--run-gap', '1', '--run', 'cell=B');
    expect(figures(one.out)).toEqual(figures((await command('pulse', whole(rows))).out));
  });

  it('pair a charge with the discharge of the run after it', async () => {
    const row = (timeS: number, v: number, a: number) => `${timeS},${v.toFixed(4)},${a}`;
    const charge = Array.from({ length: 3601 }, (_, i) => `charge,${row(i, 3.0 + (1.2 * i) / 3600, 2)}`);
    const discharge = Array.from(
      { length: 3529 },
      (_, i) => `discharge,${row(i, 4.2 - (1.7 * i) / 3528, -2)}`,
    );
    const text = `run,time_s,voltage_V,current_A\n${[...charge, ...discharge].join('\n')}\n`;
    const apart = capacityResult.parse(JSON.parse((await command('capacity', text, '--cutoff', '2.5')).out));
    const together = capacityResult.parse(
      JSON.parse((await command('capacity', text, '--cutoff', '2.5', '--together')).out),
    );
    expect(apart.cycles.every(({ coulombicEfficiency }) => coulombicEfficiency === null)).toBe(true);
    expect(together.runs.map(({ direction }) => direction)).toEqual(['charge', 'discharge']);
    expect(together.cycles[0].coulombicEfficiency).toBeCloseTo(0.98, 3);
  });
});

describe('runs that are kept as tests of their own', () => {
  const take = (text: string, options: ImportOptions): Promise<ImportReport> =>
    importFile(
      app.context,
      { name: 'runs.csv', open: async () => bufferSource(Buffer.from(text)), rereadable: true },
      { lot: 'L-1', ...options },
      'b',
    );
  const resistances = (cell: string) =>
    selectAll<{ id: number; value: number; testId: number; sourceRow: number }>(
      app.context.store,
      `SELECT m.id, m.value, m.testId, m.sourceRow FROM Measurement m JOIN Cell c ON c.id = m.cellId
       WHERE c.serial = '${cell}' AND m.quantity = 'resistance' AND m.durationS = 10 AND m.supersededAt IS NULL ORDER BY m.id`,
    );

  it('are evaluated as one record by page and HTTP, and alone again', async () => {
    const rows = pulseRows();
    await take(whole(rows), { cell: 'whole', testKind: 'pulse', startSoc: 0.5 });
    const report = await take(cutAt(rows), { cell: 'cut', testKind: 'pulse', startSoc: 0.5 });
    const ids = report.runs.map(({ testId }) => testId as number);
    expect(ids).toHaveLength(9);
    await evaluateLot(app.context, lotId, { onlyNotEvaluated: true });
    expect(await resistances('cut')).toHaveLength(0);

    const answer = await request(app.app)
      .post(`/api/v1/tests/${ids[3]}/evaluate`)
      .send({ together: true, runGapS: 1 });
    expect(answer.status).toBe(200);
    const found = await resistances('cut');
    expect(found.map(({ value }) => value)).toEqual((await resistances('whole')).map(({ value }) => value));
    expect(new Set(found.map(({ testId }) => testId))).toEqual(new Set([ids[0]]));
    // Lines of the file: the header is the first.
    expect(found.map(({ sourceRow }) => sourceRow)).toEqual([122, 262, 402, 542]);
    const { sourceFile } = await traceMeasurement(app.context, found[1].id);
    expect([sourceFile?.firstRow, sourceFile?.lastRow]).toEqual([262, 281]);

    const other = await request(app.app).get(`/api/v1/tests/${ids[5]}/evaluation`);
    expect(other.body.fit.id).toBe(answer.body.fit.id);
    expect(other.body.evaluation.result.record.joined.runs).toHaveLength(9);
    const series = await request(app.app).get(`/api/v1/tests/${ids[5]}/series?points=20000`);
    expect(series.body.timeS.at(-1)).toBe(rows.length - 1);
    const fitted = await request(app.app).get(`/api/v1/tests/${ids[5]}/pulses/1/fitted`);
    expect(Math.max(...fitted.body.residualV.map(Math.abs))).toBeLessThan(1e-4);

    // Evaluated again, they stay together with the same time between them.
    const again = await evaluateLot(app.context, lotId, { onlyNotEvaluated: false });
    expect(again).toEqual({ evaluated: 2, failed: [] });
    expect((await resistances('cut')).map(({ value }) => value)).toEqual(found.map(({ value }) => value));

    const alone = await request(app.app).post(`/api/v1/tests/${ids[3]}/evaluate`).send({ together: false });
    expect(alone.status).toBe(200);
    expect(await resistances('cut')).toHaveLength(0);
    const listed = await request(app.app).get(`/api/v1/tests?lotId=${lotId}&evaluated=no`);
    expect(listed.body.items).toHaveLength(8);
  });

  it('can be imported so that they are, and are then of the kind that they are together', async () => {
    const report = await take(cutAt(pulseRows()).replaceAll('3.7', '3.6'), {
      cell: 'at-once',
      runsTogether: true,
      startSoc: 0.5,
    });
    expect(new Set(report.runs.map(({ testKind }) => testKind))).toEqual(new Set(['pulse']));
    const { evaluated } = await evaluateLot(app.context, lotId, { onlyNotEvaluated: true });
    expect(evaluated).toBeGreaterThan(0);
    const found = await resistances('at-once');
    expect(found).toHaveLength(4);
    const test = await request(app.app).get(`/api/v1/tests/${report.runs[8].testId}`);
    expect(test.body).toMatchObject({ evaluatedWithId: report.runs[0].testId, runsOfFile: 9 });
  });

  it('are refused where the file has no other run of the cell', async () => {
    const report = await take(whole(pulseRows()).replaceAll('3.7', '3.8'), {
      cell: 'single',
      testKind: 'pulse',
    });
    const answer = await request(app.app)
      .post(`/api/v1/tests/${report.runs[0].testId}/evaluate`)
      .send({ together: true });
    expect(answer.status).toBe(400);
    expect(answer.body.errors?.[0] ?? answer.body).toMatchObject({ field: 'together' });
  });

  it('that the cell was charged or discharged between are refused by the run, by command and stored', async () => {
    // Three charges of one cell, each from the same state: between them it was discharged.
    const row = (run: number, i: number) =>
      `${run},${10 * i},${(3.4 + 0.002 * i).toFixed(4)},${i < 5 ? 0 : 1}`;
    const text = `run,time_s,voltage_V,current_A\n${[1, 2, 3]
      .flatMap((run) => Array.from({ length: 400 }, (_, i) => row(run, i)))
      .join('\n')}\n`;
    const together = await command('capacity', text, '--together');
    expect(together.code).toBe(1);
    expect(together.err).toMatch(
      /The run .*2.* begins at 3\.400 V, while the run before it ended at 4\.198 V/,
    );
    const { runs } = await take(text, { cell: 'R-9', runsTogether: true, testKind: 'capacity' });
    const answer = await request(app.app).post(`/api/v1/tests/${runs[0].testId}/evaluate`).send({});
    expect(answer.status).toBe(422);
    expect(answer.body.detail).toMatch(/begins at 3\.400 V, while the run before it ended at 4\.198 V/);
    const alone = await request(app.app)
      .post(`/api/v1/tests/${runs[0].testId}/evaluate`)
      .send({ together: false });
    expect(alone.status).toBe(200);
    expect(alone.body.evaluation.result.runs).toHaveLength(1);
  });
});
