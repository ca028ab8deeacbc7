import { fixedState } from '../../assess/parameters/ownScale.ts';
import { countingCapacityAh } from '../../assess/pulse/countingCapacity.ts';
import type { EvaluatedPulse } from '../../contract/evaluatedPulse.ts';
import type { EvaluatedPulseRecord } from '../../contract/pulseRecord.ts';
import type { Test, TestStep } from '../../contract/tests.ts';
import type { NewMeasurement } from '../../store/measurements.ts';
import { newTestMeasurement } from './newTestMeasurement.ts';

/** The steps that were found in a pulse record, as they are stored. */
export function pulseSteps(result: EvaluatedPulseRecord): TestStep[] {
  return result.steps.map((step) => ({
    position: step.index,
    origin: 'record',
    mode: step.kind,
    startTimeS: step.startTimeS,
    durationS: step.durationS,
    startRow: step.firstRow,
    endRow: step.lastRow,
    meanCurrentA: step.meanCurrentA,
    startVoltageV: step.startVoltageV,
    endVoltageV: step.endVoltageV,
    chargeAh: step.chargeAh,
    cycle: null,
  }));
}

/**
 * A value that its edge leaves open by no more than this share is compared between cells, with that uncertainty. Common practice,
 * no source.
 */
const COMPARED_SHARE = 0.01;

/** Why a value is not compared between cells: the condition it holds under; null where it holds without one, or nearly. */
function notCompared(on: string | null, value: number | null, uncertainty: number | null): string | null {
  const narrow = value !== null && uncertainty !== null && uncertainty <= COMPARED_SHARE * Math.abs(value);
  return on === 'edge-moment' && narrow ? null : on;
}

/** The line of the file in which a row of the record stands, null where that is not known. */
export type FileLine = (row: number) => number | null;

/**
 * What a pulse test says of its cell: resistances with their duration, circuit parameters, OCV of the rests. What belongs to a
 * pulse has the line of the file at which the pulse begins, and the cycle of the run in which it lies.
 */
export function pulseMeasurements(
  result: EvaluatedPulseRecord,
  test: Test,
  fitId: number,
  fileLine: FileLine = () => null,
  of: (row: number) => Test = () => test,
): NewMeasurement[] {
  const rows: NewMeasurement[] = [];
  const excludedReason = mixesUnknownStates(result) ? 'soc-unknown' : null;
  for (const pulse of result.pulses) {
    const step = result.steps.find(({ index }) => index === pulse.stepIndex);
    // A run of several that make the record has a cycle of its own.
    const run = step === undefined ? test : { ...test, cycle: of(step.firstRow).cycle };
    const own = [...resistancesOf(pulse, run, fitId), ...circuitOf(pulse, run, fitId)];
    const sourceRow = step === undefined ? null : fileLine(step.firstRow);
    const left = excludedReason === null ? {} : { excludedReason };
    rows.push(...own.map((row) => ({ ...row, sourceRow, ...(row.soc === null ? left : {}) })));
  }
  for (const level of result.twoLevelResistances) {
    if (level.valueOhm === null) continue;
    rows.push(
      newTestMeasurement(test, fitId, {
        quantity: 'rdc',
        unit: 'Ohm',
        value: level.valueOhm,
        standardUncertainty: level.standardUncertaintyOhm,
        soc: level.socBefore,
        temperatureC: level.temperatureC ?? test.temperatureC,
        direction: 'discharge',
        method: level.method,
        excludedReason: level.socBefore === null ? excludedReason : null,
      }),
    );
  }
  for (const rest of result.rests) {
    if (rest.soc === null) continue;
    rows.push(
      newTestMeasurement(test, fitId, {
        quantity: 'ocv',
        unit: 'V',
        value: rest.ocvV ?? rest.voltageV,
        standardUncertainty: rest.ocvStandardUncertaintyV,
        soc: rest.soc,
        temperatureC: rest.temperatureC ?? test.temperatureC,
        direction: rest.after === 'unknown' ? null : rest.after,
        method: rest.ocvV === null ? 'end of rest' : 'rest, relaxation extrapolated',
      }),
    );
  }
  return rows;
}

/** The measurements of a pulse record with how their states of charge were counted. */
export function withCountedStates(
  rows: readonly NewMeasurement[],
  { settings, record }: Pick<EvaluatedPulseRecord, 'settings' | 'record'>,
): NewMeasurement[] {
  const capacityAh = countingCapacityAh(settings);
  const startSoc = record.startSoc ?? settings.startSoc;
  const fromSoc = fixedState({ startSoc, startSocBasis: record.startSocBasis });
  // A capacity that was stated for the evaluation holds, whatever is measured of the cell later.
  if (capacityAh === null || fromSoc === null || settings.cellCapacityBasis === 'stated') return [...rows];
  const { ratedCapacityAh } = settings;
  return rows.map((row) =>
    row.soc === null
      ? row
      : { ...row, counted: { fromSoc, chargeAh: (row.soc - fromSoc) * capacityAh, ratedCapacityAh } },
  );
}

/** Rest voltages that lie farther apart than this belong to different states of charge, in V. */
const ONE_STATE_V = 0.01;
/** Charge between pulses, as a share of the rated capacity, from which on they are at different states of charge. */
const ONE_STATE_SHARE = 0.02;

/**
 * Whether pulses of unknown SOC in one record lie at several states of charge: then none of them represents the cell, and
 * the last one would be taken for no reason.
 */
function mixesUnknownStates(result: EvaluatedPulseRecord): boolean {
  const unknown = result.pulses.filter((pulse) => pulse.socBefore === null);
  if (unknown.length < 2) return false;
  const rests = unknown.filter((pulse) => Math.abs(pulse.restCurrentA) < 0.02 * Math.abs(pulse.currentA));
  const voltages = rests.map((pulse) => pulse.restVoltageV);
  if (Math.max(...voltages) - Math.min(...voltages) > ONE_STATE_V) return true;
  const rated = result.settings.ratedCapacityAh;
  if (rated === null) return false;
  const moved: number[] = [0];
  for (const step of result.steps) moved.push(moved[moved.length - 1] + step.chargeAh);
  const before = unknown.map((pulse) => moved[pulse.stepIndex]);
  return Math.max(...before) - Math.min(...before) > ONE_STATE_SHARE * rated;
}

function resistancesOf(pulse: EvaluatedPulse, test: Test, fitId: number): NewMeasurement[] {
  return pulse.resistances
    .filter((resistance) => resistance.valueOhm !== null)
    .map((resistance) =>
      newTestMeasurement(test, fitId, {
        quantity: 'resistance',
        unit: 'Ohm',
        value: resistance.valueOhm,
        standardUncertainty: resistance.standardUncertaintyOhm,
        soc: pulse.socBefore,
        temperatureC: pulse.temperatureC ?? test.temperatureC,
        direction: pulse.direction,
        durationS: resistance.durationS,
        currentA: pulse.currentA,
        method: resistance.method,
        excludedReason: notCompared(
          resistance.conditional,
          resistance.valueOhm,
          resistance.standardUncertaintyOhm,
        ),
      }),
    );
}

function circuitOf(pulse: EvaluatedPulse, test: Test, fitId: number): NewMeasurement[] {
  const fit = pulse.circuit;
  if (!fit) return [];
  const on = (parameter: string): string | null =>
    fit.conditional.find((one) => one.parameter === parameter)?.on ?? null;
  const values = [
    ['r0', 'Ohm', fit.r0Ohm, fit.r0StandardErrorOhm, on('r0Ohm')],
    ['r1', 'Ohm', fit.r1Ohm, fit.r1StandardErrorOhm, on('r1Ohm')],
    ['tau1', 's', fit.tau1S, fit.tau1StandardErrorS, on('tau1S')],
    ['r2', 'Ohm', fit.r2Ohm, fit.r2StandardErrorOhm, on('r2Ohm')],
    ['tau2', 's', fit.tau2S, fit.tau2StandardErrorS, on('tau2S')],
    ['r3', 'Ohm', fit.r3Ohm, fit.r3StandardErrorOhm, on('r3Ohm')],
    ['tau3', 's', fit.tau3S, fit.tau3StandardErrorS, on('tau3S')],
  ] as const;
  return values
    .filter(([, , value]) => value !== null)
    .map(([quantity, unit, value, standardUncertainty, condition]) =>
      newTestMeasurement(test, fitId, {
        quantity,
        unit,
        value,
        standardUncertainty,
        soc: pulse.socBefore,
        temperatureC: pulse.temperatureC ?? test.temperatureC,
        direction: pulse.direction,
        currentA: pulse.currentA,
        method: `circuit model with ${fit.branches} RC`,
        excludedReason: notCompared(condition, value, standardUncertainty),
      }),
    );
}
