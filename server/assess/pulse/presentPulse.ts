import type { Pulse, RecordColumns } from '../../../fitting/records/index.ts';
import {
  type BaseVoltage,
  baseVoltage,
  firstResistance,
  type ResistanceAtTime,
  resistanceAt,
} from '../../../fitting/resistance/index.ts';
import type { EvaluatedPulse, TimedResistance } from '../../contract/evaluatedPulse.ts';
import { circuitFault, credibleOhm } from './credible.ts';
import { presentCircuit } from './presentCircuit.ts';
import type { PulseFindings } from './pulseFindings.ts';
import { withoutFixture } from './withoutFixture.ts';

/** How R(t) is defined here. */
export const STEP_RESPONSE = 'ΔU/ΔI at the stated time after the step';

/** Voltage and current just before a pulse. */
export function baseOf(findings: PulseFindings, pulse: Pulse): BaseVoltage {
  const { record, finding } = findings;
  const base = finding.steps[pulse.baseStep];
  return baseVoltage(record, base, finding.voltageNoiseV, finding.voltageResolutionV);
}

/** One pulse as the contract has it. */
export function presentPulse(findings: PulseFindings, index: number): EvaluatedPulse {
  const { record, settings, finding, pulses, circuits, soc } = findings;
  const pulse = pulses[index];
  const base = baseOf(findings, pulse);
  const baseStep = finding.steps[pulse.baseStep];
  const before = pulse.start - 1;
  const fitted = circuits.circuits[index];
  const circuit = presentCircuit(findings, index);
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
    resistances: settings.durationsS.map((durationS) =>
      presentResistance(findings, index, resistanceAt(findings.readings[index], durationS)),
    ),
    firstResistance: presentFirst(findings, index),
    earlierCurrent: fitted.past,
    circuit: fault === null ? circuit : null,
    circuitReason: fault ?? fitted.reason,
  };
}

/** R(t) without the fixture, with what it holds under. */
function presentResistance(
  { settings, circuits }: PulseFindings,
  index: number,
  { edgeShare, ...found }: ResistanceAtTime,
): TimedResistance {
  const { valueOhm, standardUncertaintyOhm } = found;
  const value =
    valueOhm === null
      ? { valueOhm, standardUncertaintyOhm }
      : withoutFixture({ valueOhm, standardUncertaintyOhm }, settings);
  const { past } = circuits.circuits[index];
  const condition = past === 'unknown' ? 'earlier-current' : edgeShare > 0.5 ? 'edge-moment' : null;
  const conditional = valueOhm === null ? null : condition;
  return credibleOhm({ ...found, ...value, method: STEP_RESPONSE, conditional });
}

function presentFirst(findings: PulseFindings, index: number): TimedResistance | null {
  const found = firstResistance(findings.readings[index]);
  return found === null ? null : presentResistance(findings, index, found);
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
