import { restOfCircuit } from '../../../fitting/circuit/index.ts';
import type { SlowCurve } from '../../../fitting/open-circuit/index.ts';
import {
  type RelaxationEnd,
  type RestedPoint,
  relaxationEnd,
  restCurve,
  restDrift,
  stillToMoveV,
} from '../../../fitting/open-circuit/index.ts';
import type { Step } from '../../../fitting/records/index.ts';
import type { OpenCircuitCurve, RestPoint } from '../../contract/openCircuit.ts';
import type { ReasonCode } from '../../contract/reasons.ts';
import { findSlowCurve, presentSlowCurve } from '../open-circuit/slowOpenCircuit.ts';
import { countingCapacityAh } from './countingCapacity.ts';
import type { PulseFindings } from './pulseFindings.ts';

/** Rests shorter than this give no open-circuit voltage. */
const SHORTEST_REST_S = 300;

/** Open-circuit voltage and drift of every longer rest. */
export function presentRests(findings: PulseFindings): RestPoint[] {
  const { record, finding, soc } = findings;
  const { timeS, voltageV } = record;
  const points: RestPoint[] = [];
  finding.steps.forEach((step, stepIndex) => {
    const restS = timeS[step.end - 1] - timeS[step.start];
    if (step.kind !== 'rest' || restS < SHORTEST_REST_S) return;
    const times = timeS.subarray(step.start, step.end);
    const voltages = voltageV.subarray(step.start, step.end);
    const relaxed =
      afterPulse(findings, stepIndex) ?? relaxationEnd(times, voltages, finding.voltageResolutionV);
    const drift = restDrift(times, voltages, {
      resolutionV: finding.voltageResolutionV,
      temperatureC: record.temperatureC?.subarray(step.start, step.end),
    });
    const last = step.end - 1;
    points.push({
      stepIndex,
      timeS: timeS[last],
      restS,
      soc: soc.socAt(last),
      temperatureC: record.temperatureC?.[last] ?? null,
      voltageV: voltageV[last],
      ocvV: relaxed.ocvV,
      ocvStandardUncertaintyV: relaxed.standardUncertaintyV,
      extrapolatedV: relaxed.extrapolatedV,
      reason: relaxed.reason,
      after: lastLoad(finding.steps, stepIndex),
      driftMvPerDay: drift.driftMvPerDay,
      driftStandardUncertaintyMvPerDay: drift.standardUncertaintyMvPerDay,
      driftReason: drift.reason,
      driftAssumes: drift.assumesRoom ? 'room-temperature-assumed' : null,
    });
  });
  return points;
}

/**
 * Where a rest that a pulse's circuit was fitted on is heading, by that circuit; null for other rests. A
 * tenth of the extrapolation is added to the uncertainty, as for other rests.
 */
function afterPulse(findings: PulseFindings, stepIndex: number): RelaxationEnd | null {
  const { record, finding, pulses, circuits } = findings;
  const step = finding.steps[stepIndex];
  const index = pulses.findIndex((pulse) => pulse.lastStep === stepIndex - 1);
  if (index < 0) return null;
  const { window, chosen, end } = circuits.circuits[index];
  if (chosen === null || end !== step.end || finding.steps[pulses[index].baseStep].kind !== 'rest')
    return null;
  const rest = restOfCircuit(window, chosen);
  if (rest === null) return null;
  const extrapolatedV = rest.ocvV - record.voltageV[step.end - 1];
  return {
    ocvV: rest.ocvV,
    standardUncertaintyV: Math.hypot(rest.standardUncertaintyV, 0.1 * extrapolatedV),
    extrapolatedV,
    reason: null,
  };
}

function lastLoad(steps: readonly Step[], restIndex: number): RestPoint['after'] {
  for (let s = restIndex; s > 0; s--) {
    if (steps[s].gapBeforeS > 0 || steps[s].clockRestarted) return 'unknown';
    if (steps[s - 1].kind !== 'rest') return steps[s - 1].currentA > 0 ? 'charge' : 'discharge';
  }
  return 'unknown';
}

/** The OCV curve: from a slow discharge and charge where the record has a whole one, else from its rests. */
export function presentOpenCircuit(
  findings: PulseFindings,
  rests: readonly RestPoint[],
): { curve: OpenCircuitCurve | null; slow: SlowCurve | null; reason: ReasonCode | null } {
  const { record, finding, soc, settings } = findings;
  const capacityAh = countingCapacityAh(settings);
  const cutoffVoltageV = settings.minVoltageV;
  const slow =
    capacityAh === null
      ? null
      : findSlowCurve(record, finding.steps, { ratedCapacityAh: capacityAh, cutoffVoltageV }, soc.chargeAh);
  if (slow !== null) return { curve: presentSlowCurve(slow), slow, reason: null };
  if (settings.startSoc === null || capacityAh === null) {
    return { curve: null, slow, reason: 'soc-unknown' };
  }
  const known = rests.filter((rest) => rest.soc !== null);
  const points = restCurve(known.map((rest) => restedPoint(findings, rest)));
  if (points === null) return { curve: null, slow, reason: 'too-few-rests' };
  const isOneWay = points.every(({ hysteresisV }) => hysteresisV === null);
  return {
    curve: {
      source: 'rests',
      soc: points.map((point) => point.soc),
      ocvV: points.map((point) => point.ocvV),
      standardUncertaintyV: points.map((point) => point.standardUncertaintyV),
      slopeV: points.map((point) => point.slopeV),
      hysteresisV: points.map((point) => point.hysteresisV),
      assumes: isOneWay ? 'one-direction' : null,
    },
    slow,
    reason: null,
  };
}

/** A rest for the curve; where it gave no open-circuit voltage its last voltage, as uncertain as it still moved. */
function restedPoint({ record, finding, soc }: PulseFindings, rest: RestPoint): RestedPoint {
  const { start, end } = finding.steps[rest.stepIndex];
  return {
    soc: rest.soc as number,
    socStandardUncertainty: soc.uncertaintyAt(end - 1),
    timeS: rest.timeS,
    after: rest.after,
    ocvV: rest.ocvV ?? rest.voltageV,
    standardUncertaintyV:
      rest.ocvStandardUncertaintyV ??
      stillToMoveV(record.timeS.subarray(start, end), record.voltageV.subarray(start, end)),
  };
}
