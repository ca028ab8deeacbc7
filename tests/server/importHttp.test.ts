import { setTimeout as delay } from 'node:timers/promises';
import { gzipSync } from 'node:zlib';
import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Job } from '../../server/contract/jobs.ts';
import type { JobRunner } from '../../server/jobs/runner.ts';
import { startJobRunner } from '../../server/jobs/runner.ts';
import { findRecord, readRecord } from '../../server/store/records.ts';
import { selectAll, selectOne } from '../support/sql.ts';
import type { TestApp } from '../support/testApp.ts';
import { openTestApp } from '../support/testApp.ts';
import { waitingUploads } from '../support/waitingUploads.ts';
import { makeLot } from './importLot.ts';

let test: TestApp;
let runner: JobRunner;

beforeAll(async () => {
  test = await openTestApp();
  await makeLot(test.context.store, 'L-1');
  runner = await startJobRunner({
    store: test.context.store,
    log: { warn: console.warn, info: () => {} },
    workers: 1,
  });
});
afterAll(async () => {
  await runner.close();
  await test.close();
});

const api = () => request(test.app);
const text = 'time_s,voltage_V,current_A\n0,3.70,0\n1,3.70,0\n2,3.65,-1\n3,3.64,-1\n';

async function ended(jobId: number): Promise<Job> {
  for (let i = 0; i < 300; i++) {
    const { body } = await api().get(`/api/v1/jobs/${jobId}`);
    if (body.state !== 'waiting' && body.state !== 'running') return body as Job;
    await delay(50);
  }
  throw new Error(`Job ${jobId} does not end`);
}

const reportsOf = (job: Job) => (job.result as { reports: Record<string, unknown>[] }).reports;

describe('an upload', () => {
  it('as the body becomes a job, and the record comes back exactly', async () => {
    const sent = await api()
      .post('/api/v1/imports')
      .query({ lot: 'L-1', cell: 'C-1' })
      .set('Content-Type', 'text/csv')
      .set('X-File-Name', encodeURIComponent('Zelle 1 µ.csv'))
      .send(text);
    expect(sent.status).toBe(202);
    const job = await ended(sent.body.id);
    expect(job).toMatchObject({ state: 'done', progress: 1, error: null });
    expect(job.input.files).toEqual([{ name: 'Zelle 1 µ.csv' }]);
    const [report] = reportsOf(job);
    expect(report).toMatchObject({ state: 'taken', fileName: 'Zelle 1 µ.csv', rowCount: 4, cells: ['C-1'] });
    const testId = (report.runs as { testId: number }[])[0].testId;
    const record = await findRecord(test.context.store, testId);
    expect(record).toMatchObject({ rowCount: 4, state: 'sealed', durationS: 3 });
    expect([...(await readRecord(test.context.store, record!)).voltageV]).toEqual([3.7, 3.7, 3.65, 3.64]);
    expect(await waitingUploads(test.context.store)).toEqual([]);
  });

  it('of the same bytes is refused and names the earlier one', async () => {
    const sent = await api()
      .post('/api/v1/imports?lot=L-1&cell=C-1&name=again.csv')
      .set('Content-Type', 'text/csv')
      .send(text);
    const [report] = reportsOf(await ended(sent.body.id));
    expect(report).toMatchObject({
      state: 'refused',
      refusal: { code: 'duplicate-file', value: 'Zelle 1 µ.csv' },
    });
  });

  it('as a form takes several files, compressed ones too, and refuses one without harm to the others', async () => {
    const sent = await api()
      .post('/api/v1/imports')
      .field('options', JSON.stringify({ lot: 'L-1', namePattern: '{cell}_{kind}_{temperature}C.csv' }))
      .attach('file', Buffer.from(text.replace('3.64', '3.63')), 'D-1_pulse_25C.csv')
      .attach('file', gzipSync(Buffer.from(text.replace('3.64', '3.62'))), 'D-2_capacity_m10C.csv.gz')
      .attach('file', Buffer.from(text.replace('3.64', 'x')), 'D-3_pulse_25C.csv');
    expect(sent.status).toBe(202);
    const reports = reportsOf(await ended(sent.body.id));
    expect(reports.map((report) => report.state)).toEqual(['taken', 'taken', 'refused']);
    expect(reports[1]).toMatchObject({ cells: ['D-2'], runs: [{ testKind: 'capacity' }] });
    expect(reports[2]).toMatchObject({
      refusal: { code: 'not-a-number', row: 5, column: 'voltage_V', value: 'x' },
    });
    const cells = await selectAll(
      test.context.store,
      "SELECT serial FROM Cell WHERE serial LIKE 'D-%' ORDER BY serial",
    );
    expect(cells).toEqual([{ serial: 'D-1' }, { serial: 'D-2' }]);
    const cold = await selectOne<{ temperatureC: number }>(
      test.context.store,
      `SELECT x.temperatureC FROM Test x JOIN Cell c ON c.id = x.cellId WHERE c.serial = 'D-2'`,
    );
    expect(cold?.temperatureC).toBe(-10);
  });

  it('without a lot, or with options that are wrong, is refused at once and leaves nothing behind', async () => {
    const noLot = await api().post('/api/v1/imports?lot=none').set('Content-Type', 'text/csv').send(text);
    expect(noLot.status).toBe(400);
    expect(noLot.body.errors[0]).toMatchObject({ field: 'lot', value: 'none' });
    const wrong = await api()
      .post('/api/v1/imports')
      .set('X-Import-Options', '{"lott":1}')
      .set('Content-Type', 'text/csv')
      .send(text);
    expect(wrong.status).toBe(400);
    const broken = await api().post('/api/v1/imports').set('Content-Type', 'multipart/form-data').send('x');
    expect(broken.status).toBe(400);
    expect(await waitingUploads(test.context.store)).toEqual([]);
  });

  it('with an Idempotency-Key makes one job however often it is sent', async () => {
    const send = () =>
      api()
        .post('/api/v1/imports?lot=L-1&cell=C-9&name=k.csv')
        .set('Content-Type', 'text/csv')
        .set('Idempotency-Key', 'upload-1')
        .send(text.replace('3.64', '3.61'));
    const [first, second] = [await send(), await send()];
    expect(second.body.id).toBe(first.body.id);
    await ended(first.body.id);
  });

  it('tells its progress as events until it has ended', async () => {
    const sent = await api()
      .post('/api/v1/imports?lot=L-1&cell=C-10')
      .set('Content-Type', 'text/csv')
      .send(text.replace('3.64', '3.6'));
    const events = await api().get(`/api/v1/jobs/${sent.body.id}/events`);
    expect(events.headers['content-type']).toContain('text/event-stream');
    const last = JSON.parse(events.text.trim().split('data: ').at(-1)!) as Job;
    expect(last).toMatchObject({ id: sent.body.id, state: 'done' });
  });

  it('can be undone, and the same bytes taken again', async () => {
    const listed = await api().get('/api/v1/imports?state=taken');
    const first = listed.body.items.find((item: { fileName: string }) => item.fileName === 'Zelle 1 µ.csv');
    const undone = await api().post(`/api/v1/imports/${first.sourceFileId}/undo`);
    expect(undone.body).toMatchObject({ state: 'undone' });
    expect(await selectAll(test.context.store, "SELECT id FROM Cell WHERE serial = 'C-1'")).toEqual([]);
    expect((await api().post(`/api/v1/imports/${first.sourceFileId}/undo`)).status).toBe(409);
    const sent = await api()
      .post('/api/v1/imports?lot=L-1&cell=C-1')
      .set('Content-Type', 'text/csv')
      .send(text);
    expect(reportsOf(await ended(sent.body.id))[0]).toMatchObject({ state: 'taken' });
  });
});

describe('a preview', () => {
  const preview = (body: string | Buffer, query = {}) =>
    api()
      .post('/api/v1/imports/preview')
      .query({ name: 'p.csv', ...query })
      .set('Content-Type', 'text/csv')
      .send(body);

  it('shows rows, units, runs, steps and what would be made, and stores nothing', async () => {
    const before = await selectOne(
      test.context.store,
      'SELECT (SELECT COUNT(*) FROM SourceFile) AS f, (SELECT COUNT(*) FROM Record) AS r',
    );
    const rows = Array.from({ length: 60 }, (_, i) => {
      const on = Math.floor(i / 10) % 2 === 1;
      return `${i};${on ? '3,60' : '3,70'};${on ? '-1000' : '0'}`;
    });
    const { status, body } = await preview(`t (s);U (V);I (mA)\n${rows.join('\n')}\n`, {
      lot: 'L-1',
      cell: 'P-1',
    });
    expect(status).toBe(200);
    expect(body).toMatchObject({
      kind: 'record',
      refusal: null,
      runs: [{ cell: 'P-1', testKind: 'pulse', rowCount: 60 }],
      creates: { lot: 'L-1', cells: ['P-1'], tests: 1 },
      signCheck: { verdict: 'agrees', steps: 5, against: 0 },
    });
    expect(body.firstRows[0]).toEqual([0, 3.7, 0]);
    expect(body.steps.map((step: { kind: string }) => step.kind)).toEqual([
      'rest',
      'discharge',
      'rest',
      'discharge',
      'rest',
      'discharge',
    ]);
    expect(
      await selectOne(
        test.context.store,
        'SELECT (SELECT COUNT(*) FROM SourceFile) AS f, (SELECT COUNT(*) FROM Record) AS r',
      ),
    ).toEqual(before);
  });

  it('warns of a sign that is the wrong way round', async () => {
    const rows = Array.from({ length: 60 }, (_, i) => (Math.floor(i / 10) % 2 ? `${i},3.6,1` : `${i},3.7,0`));
    const { body } = await preview(`time_s,voltage_V,current_A\n${rows.join('\n')}\n`);
    expect(body.signCheck.verdict).toBe('reversed');
    expect(body.warnings.join()).toContain('is discharge counted positive here?');
  });

  it('of a broken file says where and why', async () => {
    const { status, body } = await preview(text.replace('3.64', '364'), { lot: 'L-1' });
    expect(status).toBe(200);
    expect(body.refusal).toMatchObject({ code: 'impossible-voltage', row: 5, column: 'voltage_V' });
  });

  it('of the beginning of a long file leaves out the line that is cut off', async () => {
    const rows = Array.from({ length: 400_000 }, (_, i) => `${i},3.7012,0.5`).join('\n');
    const { body } = await preview(`time_s,voltage_V,current_A\n${rows}\n`);
    expect(body.refusal).toBeNull();
    expect(body.warnings).toContain('only the beginning of the file was looked at');
  });

  it('of a gzip file shows what is packed in it, also of the beginning of a long one, and refuses rubbish', async () => {
    const ask = (bytes: Buffer) =>
      api()
        .post('/api/v1/imports/preview')
        .query({ name: 'packed.csv.gz' })
        .type('application/octet-stream')
        .send(bytes);
    const short = await ask(gzipSync('time_s,voltage_V,current_A\n0,3.7,0.5\n1,3.71,0.5\n'));
    expect(short.body).toMatchObject({ kind: 'record', refusal: null, runs: [{ rowCount: 2 }] });
    const rows = Array.from({ length: 400_000 }, (_, i) => `${i},${3.7 + Math.sin(i * i)},0.5`).join('\n');
    const long = await ask(gzipSync(`time_s,voltage_V,current_A\n${rows}\n`));
    expect(long.body.warnings).toContain('only the beginning of the file was looked at');
    const rubbish = await ask(Buffer.from([0x1f, 0x8b, 8, 0, 1, 2, 3, 4, 5, 6, 7, 8, 9]));
    expect(rubbish.body).toMatchObject({ status: 422, code: 'file-refused' });
  });

  it('proposes the column map that was kept for such a header', async () => {
    const header = ['a', 'b', 'c'];
    const kept = await api()
      .post('/api/v1/column-maps')
      .send({
        name: 'bench 4',
        header,
        reading: { columns: { time: 'a', voltage: 'b', current: 'c' }, units: { current: 'mA' } },
      });
    expect(kept.status).toBe(201);
    const alike = await preview('a,b,c\n0,3.7,100\n1,3.7,100\n', { cell: 'Q' });
    expect(alike.body).toMatchObject({ proposedMap: 'bench 4', kind: 'record', refusal: null });
    const same = await preview('a,b,c\n0,3.7,100\n1,3.7,100\n', { columnMap: 'bench 4', cell: 'Q' });
    expect(same.body).toMatchObject({ refusal: null, runs: [{ rowCount: 2 }] });
    expect(same.body.firstRows[0][2]).toBe(0.1);
  });
});

describe('a name pattern', () => {
  it('is tried on a list of names', async () => {
    const { body } = await api()
      .post('/api/v1/name-patterns/try')
      .send({ pattern: '{cell}_{kind}_{temperature}C.csv', names: ['A-7_pulse_n10C.csv', 'notes.txt'] });
    expect(body.items).toEqual([
      {
        name: 'A-7_pulse_n10C.csv',
        matches: true,
        cell: 'A-7',
        testKind: 'pulse',
        temperatureC: -10,
        startSoc: null,
        label: null,
      },
      {
        name: 'notes.txt',
        matches: false,
        cell: null,
        testKind: null,
        temperatureC: null,
        startSoc: null,
        label: null,
      },
    ]);
    const stars = await api()
      .post('/api/v1/name-patterns/try')
      .send({ pattern: `${'*'.repeat(200)}{cell}.txt`, names: ['a'.repeat(200)] });
    expect(stars.body.items[0].matches).toBe(false);
  });

  it.each([
    ['an unknown placeholder', '{celll}.csv', /is not a placeholder/],
    ['a placeholder twice', '{cell}_{cell}.csv', /is there twice/],
    ['a brace that stands alone', '{cell_{kind}.csv', /a brace stands alone/],
    ['nothing that it would tell', 'measured.csv', /no placeholder/],
    ['too many gaps', '*a*b*{cell}*c.csv', /more than 3 \*/],
  ])('with %s is refused with what would be right', async (_, pattern, reason) => {
    for (const [path, body] of [
      ['/try', { pattern, names: ['a'] }],
      ['', { name: 'mine', pattern }],
    ] as const) {
      const { status, body: problem } = await api().post(`/api/v1/name-patterns${path}`).send(body);
      expect(status).toBe(400);
      expect(problem.errors).toMatchObject([{ field: 'pattern', value: pattern }]);
      expect(problem.errors[0].reason).toMatch(reason);
    }
  });
});
