import type { CircuitFit, EvaluatedPulse } from '../../../server/contract/evaluatedPulse.ts';
import type { Measurement } from '../../../server/contract/measurements.ts';
import type { EvaluatedPulseRecord } from '../../../server/contract/pulseRecord.ts';
import { percent, significant } from '../format/number.ts';
import { quantity } from '../format/quantity.ts';
import type { UnitChoice } from '../settings/units.ts';
import { say } from './i18n.ts';

/** R0 of one pulse beside |Z| at 1 kHz of the same cell. */
export interface R0BesideImpedance {
  readonly soc: number | null;
  readonly r0Ohm: number;
  readonly impedanceOhm: number;
  /** R0 / |Z| − 1. */
  readonly above: number;
}

/** Nearer than this the two belong to one state of charge, and to one temperature in °C. */
const SAME_SOC = 0.05;
const SAME_C = 5;

type Fitted = EvaluatedPulse & { readonly circuit: CircuitFit };

/**
 * Pairs every 1 kHz |Z| of the cell with the fitted pulse of the smallest current at its state of charge and temperature;
 * where it does not say at which, with the one nearest to half charge.
 */
export function besideImpedance(
  result: EvaluatedPulseRecord,
  measurements: readonly Measurement[],
): R0BesideImpedance[] {
  const fitted = result.pulses.filter((pulse): pulse is Fitted => pulse.circuit !== null);
  return measurements.flatMap((measured) => {
    const { quantity: of, value, soc, temperatureC, supersededAt, excludedReason } = measured;
    if (of !== 'impedance-1khz' || value === null || !(value > 0)) return [];
    if (supersededAt !== null || excludedReason !== null) return [];
    const away = (pulse: Fitted): number => Math.abs((pulse.socBefore ?? 0.5) - (soc ?? 0.5));
    const near = fitted.filter(
      (pulse) =>
        (soc === null || (pulse.socBefore !== null && away(pulse) <= SAME_SOC)) &&
        (temperatureC === null ||
          pulse.temperatureC === null ||
          Math.abs(pulse.temperatureC - temperatureC) <= SAME_C),
    );
    if (near.length === 0) return [];
    const closest = Math.min(...near.map(away));
    const there = near.filter((pulse) => away(pulse) <= closest + 0.01);
    const pulse = there.reduce((a, b) => (Math.abs(b.currentA) < Math.abs(a.currentA) ? b : a));
    const r0Ohm = pulse.circuit.r0Ohm;
    return [{ soc: pulse.socBefore, r0Ohm, impedanceOhm: value, above: r0Ohm / value - 1 }];
  });
}

/** What R0 contains, by the fastest branch that could have been separated from it; null where no circuit says so. */
export function r0Contains(result: EvaluatedPulseRecord): string | null {
  const taus = result.pulses.flatMap(({ circuit }) =>
    circuit === null || circuit.shortestTauS === null ? [] : [circuit.shortestTauS],
  );
  if (taus.length === 0) return null;
  const [shortest, longest] = [Math.min(...taus), Math.max(...taus)].map((tauS) => significant(tauS, 2));
  const within =
    shortest === longest ? `${shortest} s` : say('words.shortestSToLongestSBy', { shortest, longest });
  return say('words.r0ContainsAllThatSettlesWith', { within });
}

/** How far R0 stands from |Z| at 1 kHz of the same cell, and why; null where there is nothing to compare. */
export function r0AboveImpedance(pairs: readonly R0BesideImpedance[], units: UnitChoice): string | null {
  if (pairs.length === 0) return null;
  const sorted = [...pairs].sort((a, b) => a.above - b.above);
  const [least, most] = [sorted[0], sorted[sorted.length - 1]];
  const why = least.above >= 0 ? say('words.at1KhzTheDoubleLayer') : say('words.r0CannotBeTheSmallerOne');
  if (pairs.length === 1) {
    const [r0, impedance] = [least.r0Ohm, least.impedanceOhm].map((ohm) => quantity(ohm, 'Ohm', units));
    return say('words.besideZAt1KhzOf', { least: distance(least), r0, impedance, why });
  }
  return say('words.besidePairsValuesOfZAt', {
    pairs: pairs.length,
    least: distance(least),
    most: distance(most),
    why,
  });
}

const distance = ({ above, soc }: R0BesideImpedance): string => {
  const at = soc === null ? '' : say('words.atSocSoc', { soc: percent(soc, 0) });
  return `${percent(Math.abs(above), 0)} ${above < 0 ? say('words.lower') : say('words.higher')}${at}`;
};
