import { z } from 'zod';
import { mostTellingFirst } from '../../assess/parameters/mostTellingFirst.ts';
import { capacityAtAge, pulseRecordOnScale } from '../../assess/parameters/ownScale.ts';
import { scaledTables } from '../../assess/parameters/scaledTables.ts';
import type { Context } from '../../context.ts';
import { type AgeingLimit, ageingCell } from '../../contract/ageingResult.ts';
import { type AgeingTrack, ageingQuantityName } from '../../contract/ageingTrack.ts';
import type { Cell } from '../../contract/cells.ts';
import type { Measurement } from '../../contract/measurements.ts';
import type { CellParameters, ParameterMeasurement, ParameterValue } from '../../contract/parameterSet.ts';
import { evaluatedPulseRecord } from '../../contract/pulseRecord.ts';
import { circuitTablesOf, openCircuitRows } from '../../export/pulseTables.ts';
import { ucumCode } from '../../export/ucum.ts';
import { inOrder } from '../../inOrder.ts';
import { listCellFits, listCellTestFits, type StoredFit } from '../../store/fits.ts';
import { listCellMeasurements } from '../../store/measurements.ts';
import { readStored } from '../../store/storedJson.ts';
import { findTest } from '../../store/tests.ts';
import { openCircuitOf } from './openCircuitOf.ts';
import { takenHeatOf, takenScalesOf } from './takenScale.ts';

/** Everything valid that is known of one cell: measurements, circuit tables, open-circuit curve, ageing. */
export async function readCellParameters(context: Context, cell: Cell): Promise<CellParameters> {
  const measurements = await listCellMeasurements(context.store, cell.id);
  const capacity = presentCapacity(measurements);
  const openCircuit = await openCircuitOf(context, cell.id);
  const leftOut: CellParameters['leftOut'] = [];
  const fitted = await readCircuits(context, cell.id, measurements, leftOut);
  const circuits = scaledTables(fitted, await takenScalesOf(context, cell.id));
  return {
    id: cell.id,
    serial: cell.serial,
    state: cell.state,
    stateReason: cell.stateReason,
    lot: { id: cell.lotId, name: cell.lotName },
    capacity,
    measurements: measurements.map(measurementOf),
    openCircuit: openCircuit && openCircuitRows(openCircuit.curve, openCircuit),
    circuits,
    ...(await heatOf(context, cell.id)),
    ageing: await readAgeing(context, cell, leftOut),
    leftOut,
  };
}

async function heatOf(context: Context, cellId: number): Promise<Pick<CellParameters, 'heat'>> {
  const taken = await takenHeatOf(context, cellId);
  if (taken === null) return {};
  const { fitId, heat } = taken;
  const value = (factor: typeof heat.heatCapacityJPerK, unit: 'J/K' | 'W/K'): ParameterValue => ({
    ...factor,
    unit,
    reason: null,
  });
  return {
    heat: {
      heatCapacity: value(heat.heatCapacityJPerK, 'J/K'),
      heatTransfer: value(heat.heatTransferWPerK, 'W/K'),
      fitId,
    },
  };
}

function measurementOf(m: Measurement): ParameterMeasurement {
  return {
    id: m.id,
    quantity: m.quantity,
    result: parameterOf(m),
    condition: {
      soc: m.soc,
      temperatureC: m.temperatureC,
      direction: m.direction,
      durationS: m.durationS,
      currentA: m.currentA,
    },
    cycle: m.cycle,
    efc: m.efc,
    method: m.method,
    excludedReason: m.excludedReason,
    measuredAt: m.measuredAt,
    testId: m.testId,
    fitId: m.fitId,
    fileId: m.sourceFileId,
    fileRow: m.sourceRow,
  };
}

function parameterOf(m: Measurement): ParameterValue {
  const unit = ucumCode(m.unit);
  if (m.value === null)
    return { value: null, unit, standardUncertainty: null, reason: m.reason ?? 'not-stated' };
  // Earlier versions stored values whose uncertainty was infinite.
  if (!Number.isFinite(m.value))
    return { value: null, unit, standardUncertainty: null, reason: 'not-finite' };
  if (m.standardUncertainty !== null && !(m.standardUncertainty >= 0 && m.standardUncertainty < Infinity))
    return { value: null, unit, standardUncertainty: null, reason: 'undetermined' };
  return { value: m.value, unit, standardUncertainty: m.standardUncertainty, reason: m.reason };
}

/** The capacity of the highest cycle, then the newest, leaving out what is excluded. */
function presentCapacity(measurements: readonly Measurement[]): ParameterValue {
  const usable = measurements.filter(
    (m) => m.quantity === 'capacity' && m.value !== null && m.excludedReason === null,
  );
  const newest = usable.reduce<Measurement | null>(
    (best, m) => (best === null || (m.cycle ?? -1) >= (best.cycle ?? -1) ? m : best),
    null,
  );
  return newest === null
    ? { value: null, unit: 'A.h', standardUncertainty: null, reason: 'not-measured' }
    : parameterOf(newest);
}

/**
 * Circuit tables of a cell's pulse tests, their states of charge in parts of the cell's own capacity at the age of the test;
 * of several at one temperature the most representative comes last.
 */
async function readCircuits(
  context: Context,
  cellId: number,
  measurements: readonly Measurement[],
  leftOut: CellParameters['leftOut'],
): Promise<CellParameters['circuits']> {
  const tested = (
    await inOrder(await listCellTestFits(context.store, cellId, 'pulse'), async (fit) => {
      const test = fit.testId === null ? null : await findTest(context.store, fit.testId);
      if (test === null) return [];
      const { id: testId, temperatureC, cycle } = test;
      const result = parse(evaluatedPulseRecord, fit, leftOut);
      if (result === null) return [];
      const onScale = pulseRecordOnScale(result, capacityAtAge(measurements, cycle)?.value ?? null);
      const tables = circuitTablesOf(onScale, { fitId: fit.id, testId, temperatureC });
      return tables.map((table) => ({ ...table, testId, cycle }));
    })
  ).flat();
  return mostTellingFirst(tested)
    .reverse()
    .map(({ cycle: _, ...table }) => table);
}

/** What is read of the stored assessment of a cell. */
const storedAgeing = z.object({ schemaVersion: z.literal(1), cell: ageingCell });

/**
 * The chosen ageing model of each quantity: from the quantity's own valid assessment, else from that of the other one,
 * which follows it too.
 */
async function readAgeing(
  context: Context,
  cell: Cell,
  leftOut: CellParameters['leftOut'],
): Promise<CellParameters['ageing']> {
  const assessments = (await listCellFits(context.store, cell.id, 'ageing')).flatMap((fit) => {
    const stored = parse(storedAgeing, fit, leftOut);
    return stored === null ? [] : [{ fitId: fit.id, own: stored.cell }];
  });
  return ageingQuantityName.options.flatMap((quantity) => {
    const own = assessments.find((one) => one.own.quantity === quantity);
    if (own !== undefined) return ageingOf(own.own, own.own.limits, own.fitId);
    const [other] = assessments;
    const companion = other?.own.companion ?? null;
    return companion?.quantity === quantity ? ageingOf(companion, other.own.limits, other.fitId) : [];
  });
}

function ageingOf(
  track: AgeingTrack,
  limits: readonly AgeingLimit[],
  fitId: number,
): CellParameters['ageing'] {
  const model = track.models.find((candidate) => candidate.name === track.chosen);
  return [
    {
      quantity: track.quantity,
      axis: track.axis,
      model: track.chosen,
      parameters: Object.entries(model?.parameters ?? {}).map(([name, value]) => ({
        name,
        unit: ucumCode(model?.units[name] ?? '1'),
        value,
        standardUncertainty: model?.standardErrors[name] ?? null,
        reason: model?.parameterReasons[name] ?? null,
      })),
      limits: limits
        .filter((limit) => limit.quantity === track.quantity)
        .map((limit) => ({
          name: limit.name,
          threshold: limit.threshold,
          crossedAt: limit.crossedAt,
          forecast: limit.forecast.value,
          low: limit.forecast.low,
          high: limit.forecast.high,
          level: limit.forecast.level,
          reason: limit.reason ?? limit.forecast.reason,
        })),
      fitId,
    },
  ];
}

/**
 * Stored documents are read through their versioned schema, so that a damaged or foreign one is noticed: it is named in
 * `leftOut`, and what else is known of the cell still goes out.
 */
function parse<T>(schema: z.ZodType<T>, fit: StoredFit, leftOut: CellParameters['leftOut']): T | null {
  const { data, reason } = readStored(schema, fit.resultJson);
  if (reason === null) return data;
  leftOut.push({ kind: fit.kind, fitId: fit.id, testId: fit.testId, reason: 'does-not-match-schema' });
  return null;
}
