import { monotoneCurve } from '../../../fitting/numeric/index.ts';
import type { Pulse } from '../../../fitting/records/index.ts';
import {
  chargePower,
  dischargePower,
  evaluateIsoProfile,
  findTwoLevel,
  ISO_CHARGE_TIMES_S,
  ISO_DISCHARGE_TIMES_S,
  isIsoProfile,
  pulseEndResistance,
} from '../../../fitting/resistance/index.ts';
import type { RestPoint } from '../../contract/openCircuit.ts';
import type { IsoEvaluation, PulsePower, TwoLevelResistance } from '../../contract/resistanceMethods.ts';
import { credibleOhm } from './credible.ts';
import { baseOf } from './presentPulse.ts';
import type { PulseFindings } from './pulseFindings.ts';
import { withoutFixture } from './withoutFixture.ts';

/** Longest rest between a discharge pulse and the charge pulse that belongs to it. */
const LONGEST_PAUSE_S = 120;

/** Two-level resistances of the record (IEC 61960-3). */
export function presentTwoLevel(findings: PulseFindings): TwoLevelResistance[] {
  const { record, finding, readings, soc, settings } = findings;
  return findTwoLevel(record, finding, readings).map(({ pulse, ...found }) =>
    credibleOhm({
      startTimeS: record.timeS[finding.steps[pulse.baseStep].start],
      ...found,
      ...(found.valueOhm === null ? {} : withoutFixture({ ...found, valueOhm: found.valueOhm }, settings)),
      socBefore: soc.socAt(pulse.start - 1),
      temperatureC: record.temperatureC?.[pulse.start - 1] ?? null,
      method: 'IEC 61960-3, clause 7.7: (U1 − U2)/(I2 − I1), 10 s and 1 s',
    }),
  );
}

/**
 * Pulse-power resistances and powers of the HPPC kind: every discharge pulse with the charge pulse soon after
 * it.
 */
export function presentPulsePowers(findings: PulseFindings, rests: readonly RestPoint[]): PulsePower[] {
  const { record, finding, pulses, soc, settings } = findings;
  const powers: PulsePower[] = [];
  pulses.forEach((pulse, index) => {
    const next = pulses[index + 1];
    const paired =
      pulse.direction === 'discharge' &&
      next?.direction === 'charge' &&
      next.baseStep === pulse.lastStep + 1 &&
      finding.steps[next.baseStep].kind === 'rest' &&
      next.startTimeS - record.timeS[pulse.end - 1] <= LONGEST_PAUSE_S;
    if (!paired) return;
    const discharge = endResistance(findings, pulse);
    const charge = endResistance(findings, next);
    const dischargeOcvV = baseOf(findings, pulse).voltageV;
    const chargeOcvV = ocvAtCharge(findings, rests, next.start - 1);
    const out = dischargePower(dischargeOcvV, discharge.valueOhm, settings.minVoltageV);
    const into = chargePower(chargeOcvV, charge.valueOhm, settings.maxVoltageV);
    powers.push({
      dischargePulseIndex: index,
      chargePulseIndex: index + 1,
      socBefore: soc.socAt(pulse.start - 1),
      dischargeDurationS: pulse.durationS,
      dischargeResistanceOhm: discharge.valueOhm,
      dischargeStandardUncertaintyOhm: discharge.standardUncertaintyOhm,
      dischargeOcvV,
      dischargePowerW: out.powerW,
      dischargeReason: pulse.endedBy === 'voltage-limit' ? 'limit-reached' : out.reason,
      chargeDurationS: next.durationS,
      chargeResistanceOhm: charge.valueOhm,
      chargeStandardUncertaintyOhm: charge.standardUncertaintyOhm,
      chargeOcvV,
      chargePowerW: into.powerW,
      chargeReason: next.endedBy === 'voltage-limit' ? 'limit-reached' : into.reason,
      method: 'INL/EXT-15-34184: resistance to the end of the pulse, power at the voltage limit',
    });
  });
  return powers;
}

function endResistance(
  findings: PulseFindings,
  pulse: Pulse,
): { valueOhm: number; standardUncertaintyOhm: number | null } {
  const { record, finding, settings } = findings;
  const base = baseOf(findings, pulse);
  const last = pulse.end - 1;
  const end = { voltageV: record.voltageV[last], currentA: record.currentA[last] };
  const uncertaintyV = Math.hypot(base.standardUncertaintyV, finding.voltageNoiseV);
  return withoutFixture(
    {
      valueOhm: pulseEndResistance(base, end),
      standardUncertaintyOhm: uncertaintyV / Math.abs(end.currentA - base.currentA),
    },
    settings,
  ) as { valueOhm: number; standardUncertaintyOhm: number | null };
}

/** OCV at the charge that a row has reached, interpolated between the rests; null beyond them. */
function ocvAtCharge(findings: PulseFindings, rests: readonly RestPoint[], row: number): number | null {
  const { finding, soc } = findings;
  const byCharge = new Map<number, number>();
  for (const rest of rests) {
    const { end } = finding.steps[rest.stepIndex];
    byCharge.set(soc.chargeAh[end - 1], rest.voltageV);
  }
  const charges = [...byCharge.keys()].sort((a, b) => a - b);
  if (charges.length < 2) return null;
  const curve = monotoneCurve(
    charges,
    charges.map((charge) => byCharge.get(charge) as number),
  );
  const at = soc.chargeAh[row];
  return curve.covers(at) ? curve.at(at) : null;
}

/** Pulse-power profiles of ISO 12405-4. */
export function presentIso(findings: PulseFindings): IsoEvaluation[] {
  const { record, finding, pulses } = findings;
  const evaluations: IsoEvaluation[] = [];
  pulses.forEach((pulse, pulseIndex) => {
    if (!isIsoProfile(record, finding.steps, pulse)) return;
    const common = { method: 'ISO 12405-4, pulse power: |U0 − U(t)| over the current of the pulse' };
    const end = finding.steps[pulse.lastStep + 1].end;
    evaluations.push({
      ...common,
      pulseIndex,
      direction: pulse.direction,
      pulseCurrentA: pulse.currentA,
      points: evaluateIsoProfile(record, pulse, baseOf(findings, pulse).voltageV, end, ISO_DISCHARGE_TIMES_S),
    });
    const charge = pulses[pulseIndex + 1];
    if (charge?.direction !== 'charge' || Math.abs(charge.durationS - 20) > 1) return;
    evaluations.push({
      ...common,
      pulseIndex: pulseIndex + 1,
      direction: charge.direction,
      pulseCurrentA: charge.currentA,
      points: evaluateIsoProfile(
        record,
        charge,
        baseOf(findings, charge).voltageV,
        charge.end,
        ISO_CHARGE_TIMES_S,
      ),
    });
  });
  return evaluations;
}
