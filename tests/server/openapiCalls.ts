import type { Context } from '../../server/context.ts';
import { selectOne } from '../support/sql.ts';
import { type FilledStore, fillStore, importPulseFile } from './exportStore.ts';
import { heatRecordFile, importHeatFile } from './heatRecordFile.ts';
import { ageingCalls } from './openapiAgeingCalls.ts';
import { importSpectraFile, spectraCalls } from './openapiSpectraCalls.ts';
import { stackLogCalls } from './openapiStackLogCalls.ts';
import { studyCalls } from './openapiStudyCalls.ts';
import { backgroundCalls, importCalls, jobCalls, liveCalls, pairingCalls } from './openapiWorkCalls.ts';

/** One call of a route: what is put into its path, query, headers and body. */
export interface ApiCall {
  /** Method and path as declared, e.g. `get /lots/{id}`. */
  readonly route: string;
  readonly path?: Readonly<Record<string, string | number>>;
  readonly query?: Readonly<Record<string, string | number>>;
  readonly headers?: Readonly<Record<string, string>>;
  readonly body?: unknown;
  readonly raw?: { readonly type: string; readonly bytes: Buffer };
  /** Status that a right answer has. */
  readonly status?: number;
}

/** A picture of one pixel. */
const pixel = Buffer.from(
  'iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==',
  'base64',
);

const chemistry = {
  name: 'another chemistry',
  nominalVoltageV: 3.2,
  chargeVoltageLimitV: 3.65,
  dischargeCutoffV: 2,
  plausibleVoltageMinV: 0.5,
  plausibleVoltageMaxV: 4.5,
  usualChargeRateC: 1,
  chargeTemperatureMinC: 0,
  chargeTemperatureMaxC: 45,
  basis: 'invented for a test',
};

/** Calls of every route in an order in which each finds what it needs; they succeed on a fresh store. */
export async function apiCalls(context: Context): Promise<readonly ApiCall[]> {
  const filled = await fillStore(context);
  const heat = { heatCapacityJPerK: 40, heatTransferWPerK: 0.06 };
  const charge = await heatRecordFile(context, filled.cellIds[1], heat);
  const heatTestId = await importHeatFile(context, 'Los "A", Teil 1/2', 'B-002', charge);
  const testId = await importPulseFile(context, 'Los "A", Teil 1/2');
  const spectraTestId = await importSpectraFile(context, 'Los "A", Teil 1/2', 'B-001');
  await importPulseFile(context, 'Los "A", Teil 1/2', 'U-001');
  const last = async (table: 'SourceFile' | 'Test') =>
    (await selectOne<{ id: number }>(context.store, `SELECT MAX(id) AS id FROM ${table}`))?.id ?? 0;
  const pairings = await pairingCalls(context, filled);
  return [
    ...stemCalls(filled),
    ...lotCalls(filled),
    ...cellCalls(filled),
    ...testCalls(filled, testId),
    ...spectraCalls(spectraTestId),
    { route: 'post /tests/{id}/heat-balance', path: { id: heatTestId }, body: { startSoc: 0.2 } },
    { route: 'get /cells/{id}/heat-balance', path: { id: filled.cellIds[1] } },
    ...liveCalls(filled.bareCellId, (await last('Test')) + 1),
    ...pairings,
    ...(await ageingCalls(context, filled)),
    ...importCalls(await last('SourceFile')),
    ...(await stackLogCalls(context, filled)),
    ...backgroundCalls(filled.lotId),
    ...jobCalls(filled),
    ...(await studyCalls(context, filled)),
    ...exportCalls(filled),
  ];
}

function stemCalls({ cellTypeId }: FilledStore): ApiCall[] {
  return [
    { route: 'get /overview' },
    { route: 'get /openapi.json' },
    { route: 'get /schemas/parameter-set/{version}', path: { version: 1 } },
    { route: 'get /chemistries' },
    {
      route: 'post /chemistries',
      body: chemistry,
      headers: { 'Idempotency-Key': 'chemistry-1' },
      status: 201,
    },
    { route: 'get /cell-types', query: { limit: 1 } },
    {
      route: 'post /cell-types',
      body: { name: 'another type', chemistryId: 1, ratedCapacityAh: 3 },
      status: 201,
    },
    { route: 'get /cell-types/{id}', path: { id: cellTypeId } },
    { route: 'get /cell-types/{id}/charge-rates', path: { id: cellTypeId } },
    { route: 'post /cell-types/{id}/temperature', path: { id: cellTypeId }, status: 201 },
    { route: 'get /cell-types/{id}/temperature', path: { id: cellTypeId } },
    { route: 'get /chemistries/{id}/charge-rates', path: { id: 1 } },
    {
      route: 'patch /cell-types/{id}',
      path: { id: cellTypeId },
      headers: { 'If-Match': '"1"' },
      body: { massG: 43.5 },
    },
  ];
}

function lotCalls({ lotId, cellTypeId }: FilledStore): ApiCall[] {
  return [
    { route: 'get /lots', query: { limit: 1 } },
    { route: 'post /lots', body: { name: 'delivery 2', cellTypeId }, status: 201 },
    { route: 'delete /lots/{id}', path: { id: 2 }, headers: { 'If-Match': '"1"' }, status: 204 },
    { route: 'get /lots/{id}', path: { id: lotId } },
    {
      route: 'patch /lots/{id}',
      path: { id: lotId },
      headers: { 'If-Match': '"1"' },
      body: { note: 'a note' },
    },
    { route: 'get /lots/{id}/columns', path: { id: lotId } },
    {
      route: 'get /lots/{id}/cells',
      path: { id: lotId },
      query: { columns: 'capacity/25C', sort: '-serial' },
    },
    { route: 'get /lots/{id}/statistics', path: { id: lotId } },
    {
      route: 'get /lots/{id}/gauge',
      path: { id: lotId },
      query: { column: 'resistance/10s/charge/soc50/25C' },
    },
    {
      route: 'get /lots/{id}/line',
      path: { id: lotId },
      query: { x: 'capacity/25C', y: 'resistance/10s/charge/soc50/25C', at: 0.02 },
    },
    { route: 'get /lots/{id}/warnings', path: { id: lotId } },
  ];
}

function cellCalls({ lotId, cellIds, bareCellId, stackId }: FilledStore): ApiCall[] {
  const [id] = cellIds;
  return [
    { route: 'get /cells', query: { limit: 2 } },
    { route: 'post /cells', body: { lotId, serial: 'D-004' }, status: 201 },
    { route: 'get /cells/{id}', path: { id } },
    {
      route: 'patch /cells/{id}',
      path: { id: bareCellId },
      headers: { 'If-Match': '"1"' },
      body: { state: 'set-aside', stateReason: 'dented' },
    },
    { route: 'get /cells/{id}/measurements', path: { id }, query: { quantity: 'resistance' } },
    { route: 'get /cells/{id}/history', path: { id } },
    { route: 'get /cells/{id}/tables', path: { id }, query: { temperaturesC: '0,25' } },
    { route: 'post /cells/{id}/notes', path: { id }, body: { text: 'seen, "ok"' }, status: 201 },
    { route: 'get /cells/{id}/notes', path: { id } },
    {
      route: 'post /cells/{id}/pictures',
      path: { id },
      raw: { type: 'image/png', bytes: pixel },
      status: 201,
    },
    {
      route: 'post /stacks/{id}/pictures',
      path: { id: stackId },
      raw: { type: 'image/png', bytes: pixel },
      status: 201,
    },
    { route: 'get /attachments/{id}/content', path: { id: 2 } },
    { route: 'get /measurements/{id}/origin', path: { id: 1 } },
    { route: 'patch /measurements/{id}', path: { id: 1 }, body: { excludedReason: null } },
  ];
}

function testCalls({ testIds }: FilledStore, imported: number): ApiCall[] {
  return [
    { route: 'get /tests', query: { evaluated: 'no' } },
    { route: 'get /tests/{id}', path: { id: testIds[0] } },
    {
      route: 'patch /tests/{id}',
      path: { id: imported },
      headers: { 'If-Match': '"1"' },
      body: { temperatureC: 25, startSoc: 0.3 },
    },
    { route: 'get /tests/{id}/series', path: { id: imported }, query: { points: 100 } },
    { route: 'post /tests/{id}/evaluate', path: { id: imported }, body: { ratedCapacityAh: 2 } },
    { route: 'get /tests/{id}/steps', path: { id: imported } },
    { route: 'get /tests/{id}/evaluation', path: { id: imported } },
    { route: 'get /tests/{id}/pulse-limits', path: { id: imported }, query: { socMin: 0.1 } },
    { route: 'get /tests/{id}/evaluations', path: { id: imported } },
    { route: 'get /tests/{id}/pulses/{index}/fitted', path: { id: imported, index: 0 } },
    { route: 'get /fits/{id}', path: { id: 1 } },
  ];
}

function exportCalls({ stackId, cellIds }: FilledStore): ApiCall[] {
  return [
    {
      route: 'post /exports',
      body: { format: 'csv-package', subjectKind: 'stack', subjectId: stackId },
      status: 201,
    },
    { route: 'get /exports', query: { subjectKind: 'stack' } },
    { route: 'get /exports/{id}', path: { id: 1 } },
    { route: 'get /exports/{id}/file', path: { id: 1 } },
    { route: 'get /parameter-sets/{kind}/{id}', path: { kind: 'cell', id: cellIds[0] } },
    { route: 'get /parameter-sets/{kind}/{id}/origin', path: { kind: 'stack', id: stackId } },
  ];
}
