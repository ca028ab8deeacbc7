import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { findStackLog, readStackLogValues } from '../../server/store/stackLogs.ts';
import { restoreImport } from '../../server/use-cases/imports/restoreImport.ts';
import { undoImport } from '../../server/use-cases/imports/undoImport.ts';
import { importStackLogText, makeStack } from '../support/loggedStack.ts';
import { logHeader, stackLogRows, stackLogText, usualBench, usualTruth } from '../support/stackLog.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

let test: TestApp;
let stackId: number;
const rows = stackLogRows(usualTruth, usualBench(11));

beforeAll(async () => {
  test = await openTestApp();
  ({ stackId } = await makeStack(test.context));
});
afterAll(() => test.close());

const take = (text: string, options: object, name?: string) =>
  importStackLogText(test.context, text, options, name);

const tables = ['StackLog', 'StackLogCell', 'Record', 'RecordChunk', 'Cell', 'Test'] as const;
const counts = async () =>
  Promise.all(
    tables.map(async (table) => {
      const { n } = await test.context.store.db
        .selectFrom(table)
        .select(({ fn }) => fn.countAll<number>().as('n'))
        .executeTakeFirstOrThrow();
      return Number(n);
    }),
  );

describe('the log of a stack is a kind of file', () => {
  it('that is recognised by its header and kept with its stack, its cells and its age, every value as it was read', async () => {
    const report = await take(stackLogText(rows), { stack: 'S-1', cycle: 120, efc: 110.5, label: 'week 7' });
    expect(report.refusal).toBeNull();
    expect(report).toMatchObject({ kind: 'stack-log', rowCount: rows.length, cells: ['S-1-A', 'S-1-B'] });
    const log = await findStackLog(test.context.store, report.stackLogId ?? 0);
    expect(log).toMatchObject({
      stackId,
      cycle: 120,
      efc: 110.5,
      label: 'week 7',
      rowCount: rows.length,
      fileName: 'log.csv',
      cells: [{ serial: 'S-1-A' }, { serial: 'S-1-B' }],
      sourceRowFirst: 2,
      sourceRowLast: rows.length + 1,
    });
    const values = await readStackLogValues(test.context.store, log!);
    const roles = [
      'time',
      'cell-voltage-1',
      'cell-voltage-2',
      'stack-current',
      'stack-voltage',
      'bus-voltage',
    ];
    roles.forEach((role, c) => {
      expect([...(values.get(role) ?? [])], role).toEqual(rows.map((row) => row[c]));
    });
    const { body } = await request(test.app).get(`/api/v1/stack-logs/${log!.id}/series`);
    expect(body.timeS.at(-1)).toBe(rows.at(-1)?.[0]);
    expect(body.columns.map(({ role }: { role: string }) => role)).toContain('bus-current');
  });

  it('whose columns can be assigned, with units and sign, where its header does not say what they are', async () => {
    const text = stackLogText(
      rows.map(([t, a, b, i]) => [t / 3600, b, a, -1000 * i]),
      'p,q,r,s',
    );
    const report = await take(text, {
      stack: 'S-1',
      kind: 'stack-log',
      columns: { time: 'p', 'cell-voltage-2': 'q', 'cell-voltage-1': 'r', 'stack-current': 's' },
      units: { time: 'h', 'stack-current': 'mA' },
      currentSign: 'discharge-positive',
    });
    expect(report.refusal).toBeNull();
    const log = await findStackLog(test.context.store, report.stackLogId ?? 0);
    const values = await readStackLogValues(test.context.store, log!);
    const at = 2000;
    expect(values.get('stack-current')?.[at]).toBeCloseTo(rows[at][3], 9);
    expect(values.get('cell-voltage-1')?.[at]).toBe(rows[at][1]);
    expect(values.get('time')?.[at]).toBeCloseTo(rows[at][0], 6);
    expect(report.mapping.find(({ role }) => role === 'stack-current')).toMatchObject({
      unit: 'mA',
      unitFrom: 'given',
      keptUnit: 'A',
      signTurned: true,
    });
  });

  it('whose clock of dates says when it began', async () => {
    const start = Date.parse('2026-03-01T09:30:00.000Z');
    const dated = rows.map((row) => [
      new Date(start + 1000 * row[0]).toISOString().replace('T', ' ').slice(0, 19),
      ...row.slice(1),
    ]);
    const text = `${logHeader.replace('Time (s)', 'Timestamp')}\n${dated.map((row) => row.join(',')).join('\n')}\n`;
    const report = await take(text, { stack: 'S-1' });
    expect(report.refusal).toBeNull();
    const log = await findStackLog(test.context.store, report.stackLogId ?? 0);
    expect(log?.startedAt).toBe('2026-03-01T09:30:00.000Z');
    expect(log?.durationS).toBe(rows.length - 1);
  });

  it('that a preview shows with its columns and checks, and that is not stored by it', async () => {
    const before = await counts();
    const { body } = await request(test.app)
      .post('/api/v1/imports/preview')
      .query({ name: 'log.csv', stack: 'S-1' })
      .set('Content-Type', 'text/csv')
      .send(
        stackLogText(
          rows.map((row, i) => (i === 900 ? [...row.slice(0, 4), row[4] + 1, ...row.slice(5)] : row)),
        ),
      );
    expect(body).toMatchObject({ kind: 'stack-log', refusal: null, creates: { stack: 'S-1', tests: 0 } });
    expect(body.mapping.map(({ role }: { role: string }) => role)).toEqual([
      'time',
      'cell-voltage-1',
      'cell-voltage-2',
      'stack-current',
      'stack-voltage',
      'bus-voltage',
      'bus-current',
    ]);
    expect(body.picture.length).toBeGreaterThan(100);
    expect(body.warnings.join('\n')).toMatch(/stack voltage: 1 of \d+ rows differ .* line 902/);
    const { body: unnamed } = await request(test.app)
      .post('/api/v1/imports/preview?name=log.csv')
      .set('Content-Type', 'text/csv')
      .send(stackLogText(rows));
    expect(unnamed.warnings.join('\n')).toMatch(/which stack/);
    expect(await counts()).toEqual(before);
  });

  it('that can be taken back and restored with its import, and keeps its stack from being removed', async () => {
    const [{ id: logId, sourceFileId }] = (
      await request(test.app).get(`/api/v1/stack-logs?stackId=${stackId}`)
    ).body.items;
    const { body: touched } = await request(test.app).get(`/api/v1/imports/${sourceFileId}/consequences`);
    expect(touched).toMatchObject({ stackLogs: 1, cellsKept: ['S-1-A', 'S-1-B'], stacks: [{ name: 'S-1' }] });
    await undoImport(test.context, sourceFileId);
    expect((await findStackLog(test.context.store, logId))?.state).toBe('undone');
    const { body: left } = await request(test.app).get(`/api/v1/stack-logs?stackId=${stackId}`);
    expect(left.items.map(({ id }: { id: number }) => id)).not.toContain(logId);
    await restoreImport(test.context, sourceFileId);
    expect((await findStackLog(test.context.store, logId))?.state).toBe('sealed');
  });
});

describe('a stack log that cannot be taken leaves nothing behind', () => {
  const other = stackLogRows(usualTruth, usualBench(12));
  it.each([
    ['no stack', stackLogText(other), { lot: 'lot of S-1' }, { code: 'missing-stack' }],
    [
      'a current that no bench carries',
      stackLogText(other.map((row, i) => (i === 700 ? [...row.slice(0, 3), 3.4e38, ...row.slice(4)] : row))),
      { stack: 'S-1' },
      { code: 'impossible-current', row: 702, column: 'I stack (A)' },
    ],
    [
      'a clock that restarts',
      stackLogText(other.map((row, i) => [i < 800 ? row[0] : row[0] - 700, ...row.slice(1)])),
      { stack: 'S-1' },
      { code: 'time-backwards', row: 802 },
    ],
    [
      'cell columns that change places',
      stackLogText(other.map((row, i) => (i < 900 ? row : [row[0], row[2], row[1], ...row.slice(3)]))),
      { stack: 'S-1' },
      { code: 'cells-swapped', row: 902 },
    ],
    [
      'a current of the other sign',
      stackLogText(other.map((row) => [...row.slice(0, 3), -row[3], ...row.slice(4)])),
      { stack: 'S-1' },
      { code: 'current-sign' },
    ],
    [
      'a gap under load',
      stackLogText(other.filter((row) => row[0] < 500 || row[0] > 900)),
      { stack: 'S-1' },
      { code: 'gap-under-load', row: 502 },
    ],
    [
      'the voltage of one cell where the stack has two',
      stackLogText(
        other.map((row) => [row[0], row[1], row[3]]),
        'Time (s),V cell 1 (V),I stack (A)',
      ),
      { stack: 'S-1', kind: 'stack-log' },
      { code: 'missing-column' },
    ],
    [
      'an option of another kind',
      stackLogText(other),
      { stack: 'S-1', cell: 'A' },
      { code: 'option-does-not-apply', column: 'cell' },
    ],
    [
      'an option of a stack log with a record',
      'time_s,voltage_V,current_A\n0,3.70,0\n1,3.70,0\n2,3.65,-1\n',
      { lot: 'lot of S-1', cell: 'X', cycle: 3 },
      { code: 'option-does-not-apply', column: 'cycle' },
    ],
  ])('%s', async (_, text, options, refusal) => {
    const before = await counts();
    const report = await take(text, options, 'broken.csv');
    expect(report.state).toBe('refused');
    expect(report.refusal).toMatchObject(refusal);
    expect(await counts()).toEqual(before);
  });

  it('a stack that is not there is refused by its name', async () => {
    await expect(take(stackLogText(other), { stack: 'S-9' })).rejects.toMatchObject({
      code: 'invalid-request',
      places: [expect.objectContaining({ field: 'stack', value: 'S-9' })],
    });
  });
});
