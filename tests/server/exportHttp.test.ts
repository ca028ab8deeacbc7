import { createHash } from 'node:crypto';
import { parquetReadObjects } from 'hyparquet';
import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { parameterSet } from '../../server/contract/parameterSet.ts';
import { draftChargeStudy } from '../../server/use-cases/charging/draftChargeStudy.ts';
import { keepChargeStudy } from '../../server/use-cases/charging/keepChargeStudy.ts';
import { runChargeStudy } from '../../server/use-cases/charging/runChargeStudy.ts';
import { selectOne } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { type FilledStore, fillStore, importPulseFile, storePulseFit } from './exportStore.ts';
import { ageingCalls } from './openapiAgeingCalls.ts';
import { pulseRecord } from './pulseRecordFixture.ts';

/** A body as bytes, whatever its media type. */
function download(test: TestApp, id: number) {
  return request(test.app)
    .get(`/api/v1/exports/${id}/file`)
    .buffer(true)
    .parse((response, done) => {
      const parts: Buffer[] = [];
      response.on('data', (part: Buffer) => parts.push(part));
      response.on('end', () => done(null, Buffer.concat(parts)));
    });
}

describe('exports over HTTP', () => {
  let test: TestApp;
  let filled: FilledStore;
  let testId: number;
  beforeAll(async () => {
    test = await openTestApp();
    filled = await fillStore(test.context);
    testId = await importPulseFile(test.context, 'Los "A", Teil 1/2');
  });
  afterAll(async () => test.close());

  const post = (body: object, key?: string) =>
    request(test.app)
      .post('/api/v1/exports')
      .set(key === undefined ? {} : { 'Idempotency-Key': key })
      .send(body);

  it('are recorded with who, what, when and the hash of the bytes that a download gives', async () => {
    const made = await post({ format: 'parameters-json', subjectKind: 'stack', subjectId: filled.stackId });
    expect(made.status).toBe(201);
    expect(made.body).toMatchObject({ createdBy: 'local', createdAt: '2026-02-01T08:00:00.000Z' });
    const file = await download(test, made.body.id);
    expect(file.headers['content-type']).toContain('application/json');
    expect(createHash('sha256').update(file.body).digest('hex')).toBe(made.body.sha256);
    expect(file.body.length).toBe(made.body.bytes);
    const set = parameterSet.parse(JSON.parse(file.body.toString('utf8')));
    expect(set.cells.map((cell) => cell.capacity.value)).toEqual([1.95, 2]);
    expect(set.provenance.files[0]).toMatchObject({ name: 'pulses, "a"/b.csv', sha256: 'a'.repeat(64) });
    const history = await request(test.app).get(
      `/api/v1/exports?subjectKind=stack&subjectId=${filled.stackId}`,
    );
    expect(history.body.items[0]).toEqual(made.body);
  });

  it('give a compact form of the same schema with the same tables, and the provenance by its path', async () => {
    const full = await request(test.app).get(`/api/v1/parameter-sets/lot/${filled.lotId}`);
    const compact = await request(test.app).get(`/api/v1/parameter-sets/lot/${filled.lotId}?form=compact`);
    const made = await post({
      format: 'parameters-compact-json',
      subjectKind: 'lot',
      subjectId: filled.lotId,
    });
    const file = parameterSet.parse(JSON.parse((await download(test, made.body.id)).body.toString('utf8')));
    expect(compact.body).toEqual(file);
    expect(file.form).toBe('compact');
    const tables = (set: typeof file) =>
      set.cells.map(({ capacity, openCircuit, circuits }) => ({
        capacity,
        openCircuit,
        r0: circuits.map(({ rows }) => rows.map((row) => [row.soc, row.r0, row.branches])),
      }));
    expect(tables(file)).toEqual(tables(full.body));
    expect(file.provenance.files).toEqual([]);
    const origin = await request(test.app).get(file.provenance.origin ?? '');
    expect(origin.body.provenance).toEqual(full.body.provenance);
    expect(JSON.stringify(compact.body).length).toBeLessThan(JSON.stringify(full.body).length);
    expect(file.cells.every((cell) => cell.measurements.every((m) => m.condition.soc === null))).toBe(true);
  });

  it('come compressed to a client that accepts it', async () => {
    const answer = await request(test.app)
      .get(`/api/v1/parameter-sets/lot/${filled.lotId}`)
      .set('Accept-Encoding', 'gzip');
    expect(answer.headers['content-encoding']).toBe('gzip');
    expect(parameterSet.safeParse(answer.body).success).toBe(true);
  });

  it('give the same bytes for the same parameters, and others once an evaluation was superseded', async () => {
    const body = { format: 'csv-package', subjectKind: 'cell', subjectId: filled.cellIds[1] };
    const first = await post(body);
    test.pass(3600);
    expect((await post(body)).body.sha256).toBe(first.body.sha256);
    await storePulseFit(test.context, filled.testIds[1], pulseRecord(1.5), 2);
    expect((await post(body)).body.sha256).not.toBe(first.body.sha256);
  });

  it('are made once for one Idempotency-Key', async () => {
    const body = { format: 'c-header', subjectKind: 'pair', subjectId: filled.pairId };
    const [first, again] = [await post(body, 'key-1'), await post(body, 'key-1')];
    expect(again.body).toEqual(first.body);
    const other = await post({ ...body, subjectKind: 'stack', subjectId: filled.stackId }, 'key-1');
    expect(other.status).toBe(409);
  });

  it('are refused with what is missing where the cell has no fit, and nothing is recorded', async () => {
    const before = (await request(test.app).get('/api/v1/exports')).body.total;
    const answer = await post({
      format: 'spice-subcircuit',
      subjectKind: 'cell',
      subjectId: filled.bareCellId,
    });
    expect(answer.status).toBe(422);
    expect(answer.body).toMatchObject({ code: 'cannot-export' });
    expect(answer.body.errors[0]).toMatchObject({
      field: 'cell "C-003": circuit model (discharge pulses)',
      value: null,
      reason: 'no-circuit-fit',
    });
    expect((await request(test.app).get('/api/v1/exports')).body.total).toBe(before);
  });

  it('are refused where format and subject do not go together', async () => {
    const answer = await post({ format: 'c-header', subjectKind: 'lot', subjectId: filled.lotId });
    expect(answer.status).toBe(422);
    expect(answer.body.errors[0].expected).toBe(
      'one of: parameters-json, parameters-compact-json, csv-package',
    );
    const absent = await post({ format: 'parameters-json', subjectKind: 'cell', subjectId: 9999 });
    expect(absent.status).toBe(404);
  });

  it('hand out a record as Parquet, current positive on charge', async () => {
    const made = await post({ format: 'record-parquet', subjectKind: 'test', subjectId: testId });
    const { body } = await download(test, made.body.id);
    const file = body.buffer.slice(body.byteOffset, body.byteOffset + body.length);
    const rows = await parquetReadObjects({ file });
    expect(rows).toHaveLength(2400);
    expect(rows[110]).toMatchObject({ time_s: 110, current_A: 2, temperature_C: 25 });
  });

  it('put records into the CSV package where asked', async () => {
    const cellId = (
      await selectOne<{ cellId: number }>(test.context.store, 'SELECT cellId FROM Test WHERE id = ?', testId)
    )?.cellId;
    const body = { format: 'csv-package', subjectKind: 'cell', subjectId: cellId };
    const [without, withRecords] = [await post(body), await post({ ...body, withRecords: true })];
    const { body: archive } = await download(test, withRecords.body.id);
    expect(archive.includes(`records/test-${testId}.csv`)).toBe(true);
    expect(withRecords.body.bytes).toBeGreaterThan(without.body.bytes);
  });

  it('hand out the planned charge of a study, its circuit with the charge, and refuse one that is not computed', async () => {
    const { description } = await draftChargeStudy(test.context, { stackId: filled.stackId });
    const study = await keepChargeStudy(test.context, {
      name: 'Plan "A"',
      description,
      stackId: filled.stackId,
    });
    const body = { subjectKind: 'charge-study', subjectId: study.id };
    const early = await post({ ...body, format: 'charge-profile-csv' });
    expect([early.status, early.body.detail]).toEqual([422, 'The charge study Plan "A" has no result yet.']);
    const done = await runChargeStudy(test.context, study.id);
    const made = await post({ ...body, format: 'charge-profile-csv', profileAgainst: 'soc' });
    const rows = (await download(test, made.body.id)).body.toString('utf8').trim().split('\r\n');
    const [header, first, ...others] = rows.map((row: string) => row.split(','));
    expect(header.slice(0, 2)).toEqual(['time_s', 'soc']);
    expect(first.slice(0, 2).map(Number)).toEqual([0, 0.1]);
    expect(Number(others[others.length - 1][0])).toBeCloseTo(done.result?.endTimeS ?? 0, 2);
    expect(rows.length).toBeGreaterThan(80);
    const bench = await post({ ...body, format: 'spice-test-bench' });
    expect((await download(test, bench.body.id)).body.toString('utf8')).toContain('bcharger 0 chg i=');
  });

  it('name files so that every file system takes them, and keep the alphabet of the name', async () => {
    const made = await post({ format: 'parameters-json', subjectKind: 'cell', subjectId: filled.cellIds[0] });
    expect(made.body.fileName).toMatch(/^Zelle-α-β-7-zweite-Zeile-1-1-€.*-parameters\.json$/u);
    const header = (await download(test, made.body.id)).headers['content-disposition'];
    expect(decodeURIComponent(/filename\*=UTF-8''(.*)$/.exec(header)?.[1] ?? '')).toBe(made.body.fileName);
    expect(/filename="([^"]*)"/.exec(header)?.[1]).toMatch(/^[\x20-\x7e]+$/);
  });

  it('answer 304 to a download that the client has', async () => {
    const made = await post({ format: 'parameters-json', subjectKind: 'lot', subjectId: filled.lotId });
    const again = await request(test.app)
      .get(`/api/v1/exports/${made.body.id}/file`)
      .set('If-None-Match', `"${made.body.sha256}"`);
    expect(again.status).toBe(304);
  });

  it('hold the ageing model chosen for a cell, with its limits and the fit it came from', async () => {
    const other = await openTestApp();
    try {
      const cells = await fillStore(other.context);
      await ageingCalls(other.context, cells);
      const { body } = await request(other.app).get(`/api/v1/parameter-sets/cell/${cells.cellIds[0]}`);
      const [capacity] = body.cells[0].ageing;
      expect(capacity).toMatchObject({ quantity: 'capacity', axis: 'cycle', model: 'linear' });
      const slope = capacity.parameters.find((p: { unit: string }) => p.unit.endsWith('{cycle}'));
      expect(slope.value).toBeCloseTo(-0.01, 6);
      expect(capacity.limits.length).toBeGreaterThan(0);
      const fit = body.provenance.fits.find((f: { id: number }) => f.id === capacity.fitId);
      expect(fit.kind).toBe('ageing');
    } finally {
      await other.close();
    }
  });

  it('hold in the parameter set of a lot the spread of each column and of a cell type that of its lots', async () => {
    const lot = await request(test.app).get(`/api/v1/parameter-sets/lot/${filled.lotId}`);
    const cellType = await request(test.app).get(`/api/v1/parameter-sets/cell-type/${filled.cellTypeId}`);
    const capacity = { key: 'capacity/25C', unit: 'A.h', n: 2, mean: 1.975, minimum: 1.95, maximum: 2 };
    for (const answer of [lot, cellType]) {
      const spread = answer.body.spread.find((entry: { key: string }) => entry.key === 'capacity/25C');
      expect(spread).toMatchObject(capacity);
      expect(spread.standardDeviation).toBeCloseTo(0.05 / Math.SQRT2, 12);
    }
    expect(lot.body.cells).toHaveLength(4);
    expect(cellType.body.cells).toHaveLength(0);
  });
});
