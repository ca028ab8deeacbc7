import {
  circuitVoltage,
  type EdgeReading,
  type PulseWindow,
  pulseWindow,
} from '../../../fitting/circuit/index.ts';
import type { RecordColumns } from '../../../fitting/records/index.ts';
import { findPulses, findSteps, type Pulse, type StepFinding } from '../../../fitting/records/index.ts';
import type { Context } from '../../context.ts';
import type { CircuitFit } from '../../contract/evaluatedPulse.ts';
import type { EvaluatedPulseRecord } from '../../contract/pulseRecord.ts';
import type { FittedPulse } from '../../contract/tests.ts';
import { fieldError, notFound, Refusal } from '../../errors.ts';
import { findTest } from '../../store/tests.ts';
import { readEvaluation } from './readEvaluation.ts';
import { readTogether, testsTogether } from './runsTogether.ts';

/** Measured voltage, the stored fit's voltage and their difference over the rows of one pulse, for drawing. */
export async function readFittedPulse(context: Context, testId: number, index: number): Promise<FittedPulse> {
  const { evaluation, settings } = await readEvaluation(context, testId);
  const test = await findTest(context.store, testId);
  if (!test?.record) throw notFound('record of test', testId);
  if (evaluation.kind !== 'pulse') throw new Refusal('not-found', `Test ${testId} is not a pulse test.`);
  const { result } = evaluation;
  const circuit = result.pulses[index]?.circuit;
  if (!circuit) {
    throw new Refusal('not-found', `Pulse ${index} of test ${testId} has no fitted circuit.`, [
      fieldError(
        'index',
        index,
        result.pulses[index]?.circuitReason ?? 'no such pulse',
        `0 to ${result.pulses.length - 1}`,
      ),
    ]);
  }
  const tests = await testsTogether(context.store, test);
  const { columns: record } = await readTogether(context.store, tests, settings.runGapS ?? null);
  const finding = findSteps(record);
  const { minVoltageV, maxVoltageV, longestPulseS } = result.settings;
  const pulse = findPulses(record, finding, { minVoltageV, maxVoltageV, longestS: longestPulseS })[index];
  const reading = {
    shape: result.record.edges,
    deadS: result.record.unsettledS,
    lagS: result.record.voltageLagS,
  };
  const { window, rows } =
    circuit.edges === null
      ? pulseWindow(record, finding, pulse, reading)
      : shifted(record, finding, pulse, reading, circuit.edges);
  const fitted = circuitVoltage(window, fittedCircuit(circuit, result));
  const shown = [...rows.keys()].filter((k) => rows[k] >= 0);
  return {
    testId,
    pulseIndex: index,
    timeS: shown.map((k) => record.timeS[rows[k]]),
    measuredV: shown.map((k) => record.voltageV[rows[k]]),
    fittedV: shown.map((k) => fitted[k]),
    residualV: shown.map((k) => record.voltageV[rows[k]] - fitted[k]),
  };
}

/** The window with the pulse's edges where the stored fit has them. */
function shifted(
  record: RecordColumns,
  finding: StepFinding,
  pulse: Pulse,
  reading: EdgeReading,
  edges: NonNullable<CircuitFit['edges']>,
): PulseWindow {
  const { on, off } = pulseWindow(record, finding, pulse, reading);
  return pulseWindow(record, finding, pulse, reading, undefined, {
    onS: edges.beginTimeS - on.momentS,
    offS: off === null || edges.endTimeS === null ? 0 : edges.endTimeS - off.momentS,
  });
}

/** The stored circuit as the model takes it, with the fixture's resistance put back that the record contains. */
function fittedCircuit(
  circuit: CircuitFit,
  result: EvaluatedPulseRecord,
): Parameters<typeof circuitVoltage>[1] {
  const named: [string, number | null][] = [
    ['ocvV', circuit.ocvV],
    ['slopeVPerAs', circuit.ocvSlopeVPerAs],
    ['r0Ohm', circuit.r0Ohm + (result.settings.fixtureResistanceOhm ?? 0)],
    ['r1Ohm', circuit.r1Ohm],
    ['tau1S', circuit.tau1S],
    ['r2Ohm', circuit.r2Ohm],
    ['tau2S', circuit.tau2S],
    ['r3Ohm', circuit.r3Ohm],
    ['tau3S', circuit.tau3S],
    ...circuit.history.flatMap(({ leftV, tauS }, i): [string, number][] =>
      i < circuit.branches
        ? [[`left${i + 1}V`, leftV]]
        : [
            ['driftV', leftV],
            ['tauDriftS', tauS],
          ],
    ),
  ];
  return {
    branches: circuit.branches,
    withSlope: circuit.ocvSlopeVPerAs !== 0,
    history: circuit.history.length,
    parameters: named.flatMap(([name, value]) =>
      value === null ? [] : [{ name, value, standardError: null, reason: null }],
    ),
  };
}
