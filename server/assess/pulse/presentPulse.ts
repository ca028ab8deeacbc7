import { chosenError } from '../../../fitting/circuit/fit/chooseCircuit.ts';
import type { PulseCircuit } from '../../../fitting/circuit/fit/fitPulses.ts';
import type { Pulse } from '../../../fitting/records/pulses.ts';
import type { RecordColumns } from '../../../fitting/records/record.ts';
import { type BaseVoltage, baseVoltage } from '../../../fitting/resistance/baseVoltage.ts';
import { subtractFixture, type UncertainOhm } from '../../../fitting/resistance/fixture.ts';
import { resistanceAt } from '../../../fitting/resistance/resistanceAt.ts';
import type { CircuitFit, EvaluatedPulse, TimedResistance } from '../../contract/evaluatedPulse.ts';
import type { PulseSettings } from '../../contract/pulseRecord.ts';
import { circuitFault, credibleOhm } from './credible.ts';
import type { PulseFindings } from './pulseFindings.ts';

/** How R(t) is defined here. */
export const STEP_RESPONSE = 'ΔU/ΔI at the stated time after the step';

/** Voltage and current just before a pulse. */
export function baseOf(findings: PulseFindings, pulse: Pulse): BaseVoltage {
  const { record, finding } = findings;
  const base = finding.steps[pulse.baseStep];
  return baseVoltage(record, base, finding.voltageNoiseV, finding.voltageResolutionV);
}

/** Takes the fixture's resistance off, where one is stated. */
export function withoutFixture(measured: UncertainOhm, settings: PulseSettings): UncertainOhm {
  if (settings.fixtureResistanceOhm === null) return measured;
  return subtractFixture(measured, {
    valueOhm: settings.fixtureResistanceOhm,
    standardUncertaintyOhm: settings.fixtureStandardUncertaintyOhm,
  });
}

/** One pulse as the contract has it. */
export function presentPulse(findings: PulseFindings, index: number): EvaluatedPulse {
  const { record, settings, finding, pulses, circuits, soc } = findings;
  const pulse = pulses[index];
  const base = baseOf(findings, pulse);
  const baseStep = finding.steps[pulse.baseStep];
  const before = pulse.start - 1;
  const fitted = circuits.circuits[index];
  const circuit = presentCircuit(fitted, settings);
  const fault = circuit === null ? null : circuitFault(circuit);
  return {
    index,
    stepIndex: pulse.firstStep,
    startTimeS: pulse.startTimeS,
    durationS: pulse.durationS,
    currentA: pulse.currentA,
    rateC: settings.ratedCapacityAh === null ? null : Math.abs(pulse.currentA) / settings.ratedCapacityAh,
    direction: pulse.direction,
    socBefore: soc.socAt(before),
    socBeforeReason: soc.reasonAt(before),
    ...temperaturesOf(record, pulse),
    restVoltageV: base.voltageV,
    restVoltageStandardUncertaintyV: base.standardUncertaintyV,
    restCurrentA: base.currentA,
    restBeforeS: record.timeS[before] - record.timeS[baseStep.start],
    endVoltageV: record.voltageV[pulse.end - 1],
    endedBy: pulse.endedBy,
    resistances: settings.durationsS.map((durationS) => timed(findings, index, durationS)),
    circuit: fault === null ? circuit : null,
    circuitReason: fault ?? fitted.reason,
  };
}

function timed({ settings, readings }: PulseFindings, index: number, durationS: number): TimedResistance {
  const found = resistanceAt(readings[index], durationS);
  const { valueOhm, standardUncertaintyOhm } = found;
  const value =
    valueOhm === null
      ? { valueOhm, standardUncertaintyOhm }
      : withoutFixture({ valueOhm, standardUncertaintyOhm }, settings);
  return credibleOhm({ ...found, ...value, method: STEP_RESPONSE });
}

function temperaturesOf(
  record: RecordColumns,
  pulse: Pulse,
): Pick<EvaluatedPulse, 'temperatureC' | 'temperatureReason' | 'temperatureRiseC'> {
  const { temperatureC } = record;
  if (temperatureC === undefined) {
    return { temperatureC: null, temperatureReason: 'not-recorded', temperatureRiseC: null };
  }
  const before = temperatureC[pulse.start - 1];
  const highest = temperatureC.subarray(pulse.start, pulse.end).reduce((a, b) => Math.max(a, b), before);
  return { temperatureC: before, temperatureReason: null, temperatureRiseC: highest - before };
}

/**
 * A fitted circuit with its errors widened for correlated residuals and quantisation, without the fixture.
 */
function presentCircuit(fitted: PulseCircuit, settings: PulseSettings): CircuitFit | null {
  const { chosen } = fitted;
  if (chosen === null) return null;
  const { circuit, residuals, standardErrorFactor: factor } = chosen;
  const at = (name: string): number | null => {
    const found = circuit.parameters.find((parameter) => parameter.name === name);
    return found === undefined ? null : found.value;
  };
  const error = (name: string): number | null => chosenError(chosen, name);
  const r0 = withoutFixture(
    { valueOhm: at('r0Ohm') as number, standardUncertaintyOhm: error('r0Ohm') },
    settings,
  );
  return {
    branches: circuit.branches,
    ocvV: at('ocvV') as number,
    ocvStandardErrorV: error('ocvV'),
    ocvSlopeVPerAs: at('slopeVPerAs') ?? 0,
    ocvSlopeStandardErrorVPerAs: error('slopeVPerAs'),
    r0Ohm: r0.valueOhm,
    r0StandardErrorOhm: r0.standardUncertaintyOhm,
    shortestTauS: fitted.shortestTauS,
    r1Ohm: at('r1Ohm'),
    r1StandardErrorOhm: error('r1Ohm'),
    tau1S: at('tau1S'),
    tau1StandardErrorS: error('tau1S'),
    r2Ohm: at('r2Ohm'),
    r2StandardErrorOhm: error('r2Ohm'),
    tau2S: at('tau2S'),
    tau2StandardErrorS: error('tau2S'),
    r3Ohm: at('r3Ohm'),
    r3StandardErrorOhm: error('r3Ohm'),
    tau3S: at('tau3S'),
    tau3StandardErrorS: error('tau3S'),
    residualSdV: circuit.residualSdV,
    termination: circuit.termination,
    aicc: chosen.aicc,
    covariance: chosen.covariance && {
      names: circuit.parameters.map((parameter) => parameter.name),
      matrix: chosen.covariance.map((row) => [...row]),
    },
    residualCheck: {
      verdict: residuals.verdict,
      lagOneCorrelation: residuals.lagOneCorrelation,
      largestV: residuals.largestV,
    },
    standardErrorFactor: factor,
    firstRow: fitted.start,
    lastRow: fitted.end - 1,
    rows: circuit.rows,
    candidates: chosen.candidates.map(
      ({ branches, withSlope, aicc, residualSdV, chosen: taken, reason }) => ({
        branches,
        withSlope,
        aicc,
        residualSdV,
        chosen: taken,
        reason,
      }),
    ),
  };
}
