import type { Context } from '../../server/context.ts';
import type { EvaluatedPulse, EvaluatedPulseRecord } from '../../server/contract/pulse.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { insertCell } from '../../server/store/cells.ts';
import { insertFit } from '../../server/store/fits.ts';
import { insertMeasurements } from '../../server/store/measurements.ts';
import { findTest } from '../../server/store/tests.ts';
import { importFile } from '../../server/use-cases/importFile.ts';
import { newTestMeasurement } from '../../server/use-cases/newTestMeasurement.ts';
import { pulseMeasurements } from '../../server/use-cases/pulseMeasurements.ts';
import { makeLot } from '../support/basics.ts';
import { circuitRow, hostileName } from './exportFixture.ts';

const soc = [0.1, 0.3, 0.5, 0.7, 0.9];
const ocv = [3.45, 3.62, 3.705, 3.86, 4.06];

/** One evaluated charge pulse whose fit is the circuit row of the fixture. */
function pulse(index: number, z: number, scale: number, ocvV: number): EvaluatedPulse {
  const row = circuitRow(z, scale, ocvV);
  return {
    index,
    stepIndex: 2 * index + 1,
    startTimeS: 4000 * index,
    durationS: 30,
    currentA: 2,
    rateC: 1,
    direction: 'charge',
    socBefore: z,
    socBeforeReason: null,
    temperatureC: 25,
    temperatureReason: null,
    temperatureRiseC: 0.1,
    restVoltageV: ocvV,
    restVoltageStandardUncertaintyV: 1e-4,
    restCurrentA: 0,
    restBeforeS: 3600,
    endVoltageV: ocvV + 0.07,
    endedBy: 'time',
    resistances: [
      {
        durationS: 10,
        valueOhm: 0.031 * scale,
        standardUncertaintyOhm: 1e-4,
        reason: null,
        sampledAtS: 10,
        method: 'step',
      },
    ],
    circuit: {
      branches: 2,
      ocvV,
      ocvStandardErrorV: 1e-4,
      ocvSlopeVPerAs: 1e-5,
      ocvSlopeStandardErrorVPerAs: 1e-7,
      r0Ohm: row.r0.value ?? 0,
      r0StandardErrorOhm: 6e-5,
      r1Ohm: row.branches[0].r.value,
      r1StandardErrorOhm: 1e-4,
      tau1S: row.branches[0].tau.value,
      tau1StandardErrorS: 0.05,
      r2Ohm: row.branches[1].r.value,
      r2StandardErrorOhm: 2e-4,
      tau2S: row.branches[1].tau.value,
      tau2StandardErrorS: 1.4,
      r3Ohm: null,
      r3StandardErrorOhm: null,
      tau3S: null,
      tau3StandardErrorS: null,
      residualSdV: 5e-5,
      termination: 'step',
      aicc: -900,
      covariance: {
        names: ['ocvV', 'r0Ohm'],
        matrix: [
          [1e-8, -1e-9],
          [-1e-9, 3.6e-9],
        ],
      },
      residualCheck: { verdict: 'white', lagOneCorrelation: 0.02, largestV: 1.5e-4 },
      standardErrorFactor: 1,
      firstRow: 10 * index,
      lastRow: 10 * index + 9,
      rows: 10,
      candidates: [],
    },
    circuitReason: null,
  };
}

/** An evaluated pulse record with five charge pulses. */
export function pulseRecord(scale: number): EvaluatedPulseRecord {
  return {
    schemaVersion: 1,
    algorithm: { name: 'pulse-record', version: '1.0.0' },
    settings: {
      ratedCapacityAh: 2,
      startSoc: 0,
      durationsS: [10],
      maxBranches: 2,
      minVoltageV: null,
      maxVoltageV: null,
      fixtureResistanceOhm: null,
      fixtureStandardUncertaintyOhm: null,
      longestPulseS: 120,
    },
    record: {
      rows: 50,
      startTimeS: 0,
      durationS: 20_000,
      voltageResolutionV: 1e-4,
      currentResolutionA: 1e-3,
      voltageNoiseV: 5e-5,
      restCurrentOffsetA: 0,
      clockRestarts: 0,
      hasTemperature: true,
      edges: 'sharp',
      unsettledS: 0,
      edgeResistanceOhm: null,
    },
    steps: [],
    pulses: soc.map((z, i) => pulse(i, z, scale, ocv[i])),
    isoEvaluations: [],
    twoLevelResistances: [],
    pulsePowers: [],
    rests: [],
    openCircuit: {
      source: 'rests',
      soc: [0, ...soc, 1],
      ocvV: [3.2, ...ocv, 4.18],
      standardUncertaintyV: [0, 0, 0, 0, 0, 0, 0].map(() => 3e-4),
      slopeV: [2, 1, 0.6, 0.5, 0.8, 1, 1.2],
      hysteresisV: [null, null, null, null, null, null, null],
    },
    openCircuitReason: null,
    table: [],
    warnings: [],
  };
}

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
  const { store } = context;
  const { lot, cellType } = await makeLot(context, {
    lot: 'Los "A", Teil 1/2',
    cellType: { heatCapacityJPerK: 41, heatTransferWPerK: 0.08, maxChargeCurrentA: 4 },
  });
  const at = context.now().toISOString();
  return store.transaction(() => {
    const fileId = store.run(
      `INSERT INTO SourceFile (name, sha256, takenSha256, bytes, kind, state, lotId, importedAt, importedBy)
       VALUES ('pulses, "a"/b.csv', ?, ?, 100, 'record', 'taken', ?, ?, 'operator "ö"')`,
      'a'.repeat(64),
      'a'.repeat(64),
      lot.id,
      at,
    ).id;
    const testIds: number[] = [];
    const cellIds = [hostileName.replace(/\r\n/, ' '), 'B-002'].map((serial, i) => {
      const cellId = insertCell(store, {
        lotId: lot.id,
        serial,
        note: '',
        createdAt: at,
        sourceFileId: fileId,
      });
      const testId = store.run(
        `INSERT INTO Test (cellId, kind, state, label, temperatureC, instrument, sourceFileId, sourceRowFirst,
           sourceRowLast, createdAt) VALUES (?, 'pulse', 'sealed', 'pulses', 25, 'bench', ?, 1, 50, ?)`,
        cellId,
        fileId,
        at,
      ).id;
      testIds.push(testId);
      storePulseFit(context, testId, pulseRecord(1 + 0.08 * (1 - i)), 1.95 + 0.05 * i);
      return cellId;
    });
    const bareCellId = insertCell(store, {
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
      ...storeStack(context, lot.id, cellIds, at),
    };
  });
}

/** Stores a pulse evaluation of a test with its measurements and a capacity. */
export function storePulseFit(
  context: Context,
  testId: number,
  result: EvaluatedPulseRecord,
  capacityAh: number,
): number {
  const test = findTest(context.store, testId);
  if (!test) throw new Error(`no test ${testId}`);
  const at = context.now().toISOString();
  const fitId = insertFit(context.store, {
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
  insertMeasurements(context.store, [...pulseMeasurements(result, test, fitId), capacity], at);
  return fitId;
}

function storeStack(context: Context, lotId: number, cellIds: readonly number[], at: string) {
  const { store } = context;
  const pairingId = store.run(
    `INSERT INTO Pairing (lotId, criteriaJson, resultJson, algorithm, algorithmVersion, pairCount, unpairedCount,
       totalCost, proven, createdAt, createdBy) VALUES (?, '{}', '{}', 'pairing', '1', 1, 1, 1.25, 1, ?, 'local')`,
    lotId,
    at,
  ).id;
  const detail = {
    differences: [
      {
        feature: 'capacity',
        unit: 'Ah',
        difference: 0.05,
        standardUncertainty: 0.003,
        inTolerances: 1.1,
        cost: 1.2,
      },
    ],
  };
  const pairId = store.run(
    `INSERT INTO Pair (pairingId, position, cellAId, cellBId, cost, state, detailJson) VALUES (?, 1, ?, ?, 1.25, 'built', ?)`,
    pairingId,
    cellIds[0],
    cellIds[1],
    JSON.stringify(detail),
  ).id;
  const stackId = store.run(
    `INSERT INTO Stack (name, pairId, state, createdAt) VALUES ('Stapel "7"/links', ?, 'built', ?)`,
    pairId,
    at,
  ).id;
  cellIds.forEach((cellId, i) => {
    store.run('INSERT INTO StackCell (stackId, position, cellId) VALUES (?, ?, ?)', stackId, i + 1, cellId);
  });
  return { pairingId, pairId, stackId };
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

/** Imports {@link pulseFile} as a test of the cell "R-001"; returns the test's identifier. */
export async function importPulseFile(context: Context, lotName: string): Promise<number> {
  const file = {
    name: 'R-001 pulses.csv',
    open: () => Promise.resolve(bufferSource(Buffer.from(pulseFile()))),
    rereadable: true,
  };
  const options = { lot: lotName, cell: 'R-001', testKind: 'pulse' as const, kind: 'record' as const };
  const report = await importFile(context, file, options, 'batch');
  const row = context.store.get<{ id: number }>('SELECT MAX(id) AS id FROM Test');
  if (report.state !== 'taken' || row === undefined) throw new Error(JSON.stringify(report));
  return row.id;
}
