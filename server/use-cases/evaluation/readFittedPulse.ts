import { circuitVoltage } from '../../../fitting/circuit/fit/circuitResiduals.ts';
import { pulseWindow } from '../../../fitting/circuit/window/pulseWindow.ts';
import { findPulses } from '../../../fitting/records/pulses.ts';
import { findSteps } from '../../../fitting/records/steps.ts';
import type { Context } from '../../context.ts';
import type { CircuitFit } from '../../contract/evaluatedPulse.ts';
import type { EvaluatedPulseRecord } from '../../contract/pulseRecord.ts';
import type { FittedPulse } from '../../contract/tests.ts';
import { fieldError, notFound, Refusal } from '../../errors.ts';
import { findRecord, readRecord } from '../../store/records.ts';
import { readEvaluation } from './readEvaluation.ts';

/** Measured voltage, the stored fit's voltage and their difference over the rows of one pulse, for drawing. */
export async function readFittedPulse(context: Context, testId: number, index: number): Promise<FittedPulse> {
  const { evaluation } = await readEvaluation(context, testId);
  const stored = await findRecord(context.store, testId);
  if (!stored) throw notFound('record of test', testId);
  if (evaluation.kind !== 'pulse') throw new Refusal('not-found', `Test ${testId} is no pulse test.`);
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
  const record = await readRecord(context.store, stored);
  const finding = findSteps(record);
  const { minVoltageV, maxVoltageV, longestPulseS } = result.settings;
  const pulse = findPulses(record, finding, { minVoltageV, maxVoltageV, longestS: longestPulseS })[index];
  const { window, start, end } = pulseWindow(record, finding.steps, pulse, {
    shape: result.record.edges,
    deadS: result.record.unsettledS,
    lagS: result.record.voltageLagS,
  });
  const fitted = circuitVoltage(window, fittedCircuit(circuit, result));
  const lead = end - fitted.length;
  const rows = Array.from({ length: end - start }, (_, i) => start + i);
  return {
    testId,
    pulseIndex: index,
    timeS: rows.map((row) => record.timeS[row]),
    measuredV: rows.map((row) => record.voltageV[row]),
    fittedV: rows.map((row) => fitted[row - lead]),
    residualV: rows.map((row) => record.voltageV[row] - fitted[row - lead]),
  };
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
  ];
  return {
    branches: circuit.branches,
    withSlope: circuit.ocvSlopeVPerAs !== 0,
    parameters: named.flatMap(([name, value]) =>
      value === null ? [] : [{ name, value, standardError: null, reason: null }],
    ),
  };
}
