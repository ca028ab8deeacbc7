import type { Context } from '../../server/context.ts';
import { inTransaction } from '../../server/context.ts';
import type { ImportReport } from '../../server/contract/import.ts';
import { createPairing } from '../../server/contract/pairings.ts';
import type { EvaluatedPulseRecord } from '../../server/contract/pulseRecord.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { inOrder } from '../../server/inOrder.ts';
import { insertCell } from '../../server/store/cells.ts';
import { insertFit } from '../../server/store/fits.ts';
import { insertMeasurements } from '../../server/store/measurements.ts';
import { findTest } from '../../server/store/tests.ts';
import { newTestMeasurement } from '../../server/use-cases/evaluation/newTestMeasurement.ts';
import { pulseMeasurements } from '../../server/use-cases/evaluation/pulseMeasurements.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { decidePair } from '../../server/use-cases/pairing/decidePair.ts';
import { runPairing } from '../../server/use-cases/pairing/runPairing.ts';
import { changeStack } from '../../server/use-cases/stacks/changeStack.ts';
import { planStack } from '../../server/use-cases/stacks/planStack.ts';
import { makeLot } from '../support/basics.ts';
import { runSql, selectOne } from '../support/sql.ts';
import { hostileName } from './exportFixture.ts';
import { pulseRecord } from './pulseRecordFixture.ts';

const report: ImportReport = {
  sourceFileId: null,
  fileName: 'pulses, "a"/b.csv',
  state: 'taken',
  kind: 'record',
  sha256: 'a'.repeat(64),
  bytes: 100,
  rowCount: 50,
  dialect: null,
  mapping: [],
  unusedColumns: [],
  preamble: [],
  runs: [],
  cells: [],
  cellsCreated: 3,
  measurementsCreated: 0,
  stackLogId: null,
  cellReports: [],
  warnings: [],
  refusal: null,
};

/** What {@link fillStore} put there. */
export interface FilledStore {
  readonly lotId: number;
  readonly cellTypeId: number;
  readonly cellIds: readonly number[];
  readonly bareCellId: number;
  readonly testIds: readonly number[];
  readonly pairingId: number;
  readonly pairId: number;
  readonly stackId: number;
}

/** Fills a fresh store: two cells with a pulse test each, one cell without anything, a pairing, a pair and a stack. */
export async function fillStore(context: Context): Promise<FilledStore> {
  const { lot, cellType } = await makeLot(context, {
    lot: 'Los "A", Teil 1/2',
    cellType: { heatCapacityJPerK: 41, heatTransferWPerK: 0.08, maxChargeCurrentA: 4 },
  });
  const at = context.now().toISOString();
  const stored = await inTransaction(context, async (context) => {
    const fileId = (
      await runSql(
        context.store,
        `INSERT INTO SourceFile (name, sha256, takenSha256, bytes, kind, state, reportJson, lotId, importedAt, importedBy)
       VALUES ('pulses, "a"/b.csv', ?, ?, 100, 'record', 'taken', ?, ?, ?, 'operator "ö"')`,
        report.sha256,
        report.sha256,
        JSON.stringify(report),
        lot.id,
        at,
      )
    ).id;
    const measured = await inOrder([hostileName.replace(/\r\n/, ' '), 'B-002'], async (serial, i) =>
      addMeasuredCell(context, lot.id, fileId, serial, 1.95 + 0.05 * i, 1 + 0.08 * (1 - i)),
    );
    const cellIds = measured.map(({ cellId }) => cellId);
    const testIds = measured.map(({ testId }) => testId);
    const bareCellId = await insertCell(context.store, {
      lotId: lot.id,
      serial: 'C-003',
      note: '',
      createdAt: at,
      sourceFileId: fileId,
    });
    return {
      lotId: lot.id,
      cellTypeId: cellType.id,
      cellIds,
      bareCellId,
      testIds,
    };
  });
  return { ...stored, ...(await buildStack(context, stored.cellIds)) };
}

/** A cell with one evaluated pulse test and a capacity. */
export async function addMeasuredCell(
  context: Context,
  lotId: number,
  fileId: number,
  serial: string,
  capacityAh: number,
  scale: number,
): Promise<{ cellId: number; testId: number }> {
  const { store } = context;
  const createdAt = context.now().toISOString();
  const cellId = await insertCell(store, { lotId, serial, note: '', createdAt, sourceFileId: fileId });
  const testId = (
    await runSql(
      store,
      `INSERT INTO Test (cellId, kind, state, label, temperatureC, instrument, sourceFileId, sourceRowFirst,
       sourceRowLast, createdAt) VALUES (?, 'pulse', 'sealed', 'pulses', 25, 'bench', ?, 1, 50, ?)`,
      cellId,
      fileId,
      createdAt,
    )
  ).id;
  await storePulseFit(context, testId, pulseRecord(scale), capacityAh);
  return { cellId, testId };
}

/** Stores a pulse evaluation of a test with its measurements and a capacity. */
export async function storePulseFit(
  context: Context,
  testId: number,
  result: EvaluatedPulseRecord,
  capacityAh: number,
): Promise<number> {
  const test = await findTest(context.store, testId);
  if (!test) throw new Error(`no test ${testId}`);
  const at = context.now().toISOString();
  const fitId = await insertFit(context.store, {
    kind: 'pulse',
    testId,
    cellId: test.cellId,
    algorithm: 'pulse-record',
    algorithmVersion: '1.0.0',
    settings: {},
    inputs: {},
    result,
    createdAt: at,
    createdBy: 'operator "ö"',
  });
  const capacity = newTestMeasurement(test, fitId, {
    quantity: 'capacity',
    unit: 'A.h',
    value: capacityAh,
    standardUncertainty: 0.002,
    method: 'discharge to 2.5 V',
  });
  await insertMeasurements(context.store, [...pulseMeasurements(result, test, fitId), capacity], at);
  return fitId;
}

/** Criteria that any two cells keep. */
export const wideCriteria = {
  features: [
    { name: 'capacity', quantity: 'capacity' as const, tolerance: { kind: 'absolute' as const, value: 0.1 } },
    {
      name: 'resistance',
      quantity: 'resistance' as const,
      tolerance: { kind: 'percent' as const, value: 20 },
    },
  ],
};

/** Pairs two cells, accepts the pair, plans a stack of it and builds it, through the same door as a user. */
async function buildStack(context: Context, cellIds: readonly number[]) {
  const request = createPairing.parse({ cellIds, criteria: wideCriteria });
  const pairing = await runPairing(context, request);
  const { id: pairId, version } = pairing.pairs[0];
  await decidePair(context, pairId, version, { state: 'accepted', reason: null });
  const stack = await planStack(context, { pairId, name: 'Stapel "7"/links', note: '' });
  await changeStack(context, stack.id, stack.version, { state: 'built' });
  return { pairingId: pairing.id, pairId, stackId: stack.id };
}

/** Time, voltage, current and temperature of a cell with a charge pulse of 2 A at each of three states of charge. */
export function pulseFile(): string {
  const lines = ['time_s,voltage_V,current_A,temperature_C'];
  let soc = 0.3;
  for (let t = 0; t < 2400; t++) {
    const inBlock = t % 800;
    const currentA = inBlock >= 100 && inBlock < 130 ? 2 : inBlock >= 400 && inBlock < 700 ? 1 : 0;
    const sincePulseS = Math.max(0, inBlock - 100);
    const branchV = currentA === 2 ? 0.02 * (1 - Math.exp(-sincePulseS / 8)) : 0;
    soc += currentA / 7200;
    const noiseV = 2e-5 * Math.sin(12.9898 * t);
    lines.push(`${t},${(3.3 + 0.8 * soc + 0.025 * currentA + branchV + noiseV).toFixed(5)},${currentA},25.0`);
  }
  return `${lines.join('\n')}\n`;
}

/** Imports {@link pulseFile} as a test of a cell; returns the test's identifier. */
export async function importPulseFile(context: Context, lotName: string, cell = 'R-001'): Promise<number> {
  const file = {
    name: `${cell} pulses.csv`,
    // The last line tells the files of two cells apart.
    open: () =>
      Promise.resolve(
        bufferSource(Buffer.from(`${pulseFile()}${cell === 'R-001' ? '' : '2400,3.8,0,25.0\n'}`)),
      ),
    rereadable: true,
  };
  const options = { lot: lotName, cell, testKind: 'pulse' as const, kind: 'record' as const };
  const report = await importFile(context, file, options, 'batch');
  const row = await selectOne<{ id: number }>(context.store, 'SELECT MAX(id) AS id FROM Test');
  if (report.state !== 'taken' || row === undefined) throw new Error(JSON.stringify(report));
  return row.id;
}
