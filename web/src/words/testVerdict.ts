import type { EvaluatedPulseRecord } from '../../../server/contract/pulseRecord.ts';
import type { Evaluation } from '../../../server/contract/tests.ts';
import { percent, significant, withUncertainty, written } from '../format/number.ts';
import { quantity } from '../format/quantity.ts';
import { span } from '../format/time.ts';
import type { UnitChoice } from '../settings/units.ts';
import { say } from './i18n.ts';
import { plainCode, reasonSentence } from './reasons.ts';

type Found = Evaluation['evaluation'];

/** What a test found, in sentences: the values first, then how far they may be trusted. */
export function testVerdict(found: Found, units: UnitChoice): string[] {
  switch (found.kind) {
    case 'pulse':
      return [...pulses(found.result, units), ...circuits(found.result)];
    case 'capacity':
      return [capacity(found.result, units)];
    case 'rest':
      return [rest(found.result)];
    case 'impedance':
      return [spectra(found.result, units)];
  }
}

function pulses({ pulses: all }: EvaluatedPulseRecord, units: UnitChoice): string[] {
  const count = all.length === 1 ? say('test.onePulse') : say('test.pulsesCount', { pulses: all.length });
  const socs = all.flatMap((p) => (p.socBefore === null ? [] : [p.socBefore]));
  const where =
    socs.length === 0
      ? say('test.pulsesAtUnknownSoc', { pulses: count })
      : percent(Math.min(...socs), 0) === percent(Math.max(...socs), 0)
        ? say('test.pulsesAtSoc', { pulses: count, soc: percent(socs[0], 0) })
        : say('test.pulsesBetween', {
            pulses: count,
            low: percent(Math.min(...socs), 0),
            high: percent(Math.max(...socs), 0),
          });
  return [where, ...resistances(all, units)];
}

/** The range of R at the longest duration that most discharge pulses, or else charge pulses, have without a condition. */
function resistances(all: EvaluatedPulseRecord['pulses'], units: UnitChoice): string[] {
  for (const direction of ['discharge', 'charge'] as const) {
    const values = new Map<number, number[]>();
    for (const pulse of all.filter((p) => p.direction === direction))
      for (const r of pulse.resistances)
        if (r.valueOhm !== null && r.conditional === null)
          values.set(r.durationS, [...(values.get(r.durationS) ?? []), r.valueOhm]);
    const [found] = [...values].sort(([d, a], [e, b]) => b.length - a.length || e - d);
    if (found === undefined) continue;
    const [duration, ohms] = found;
    const [low, high] = [Math.min(...ohms), Math.max(...ohms)].map((ohm) => quantity(ohm, 'Ohm', units, 3));
    const of = { duration: written(String(duration)), direction: plainCode(direction) };
    return [
      low === high
        ? say('test.resistanceIs', { ...of, value: low })
        : say('test.resistanceFromTo', { ...of, low, high }),
    ];
  }
  return [];
}

/** How many circuits describe their pulse to the noise. Evaluations of earlier versions say nothing about it. */
function circuits({ pulses: all }: EvaluatedPulseRecord): string[] {
  const fits = all.flatMap((p) => (p.circuit === null ? [] : [p.circuit]));
  if (fits.length === 0) return all.length === 0 ? [] : [say('test.noCircuitFitted')];
  const count = (code: string) => fits.filter((fit) => fit.fitVerdict?.code === code).length;
  if (fits.some((fit) => fit.fitVerdict === null)) return [];
  const good = count('adequate');
  return [
    good === fits.length
      ? good === 1
        ? say('test.fitLeavesNoise')
        : say('test.fitsAllNoise', { fits: good })
      : say('test.fitsSomeNoise', {
          good,
          fits: fits.length,
          only: count('fit-only'),
          poor: count('poor'),
        }),
  ];
}

type CapacityResult = Extract<Found, { kind: 'capacity' }>['result'];

function capacity({ runs }: CapacityResult, units: UnitChoice): string {
  const counted = runs.flatMap((run) =>
    run.direction === 'discharge' && run.plausible && run.conditional === null && run.capacityAh !== null
      ? [{ capacityAh: run.capacityAh, cutoffVoltageV: run.cutoffVoltageV }]
      : [],
  );
  if (counted.length === 0) return say('test.capacityNone');
  const shown = counted.map((run) => run.capacityAh);
  const [only] = counted;
  return counted.length === 1 && only.cutoffVoltageV !== null
    ? say('test.capacityAnswerOne', {
        value: quantity(only.capacityAh, 'Ah', units),
        cutoff: significant(only.cutoffVoltageV, 3),
      })
    : say('test.capacityAnswerMany', {
        runs: counted.length,
        low: quantity(Math.min(...shown), 'Ah', units),
        high: quantity(Math.max(...shown), 'Ah', units),
      });
}

function rest(result: Extract<Found, { kind: 'rest' }>['result']): string {
  const rested = span(result.durationS);
  const drift = result.driftMvPerDay;
  if (drift === null) return say('test.restNone', { rested, reason: reasonSentence(result.reason) });
  const uncertainty = result.driftStandardUncertaintyMvPerDay;
  const size =
    uncertainty === null ? significant(Math.abs(drift), 2) : withUncertainty(Math.abs(drift), uncertainty);
  return drift <= 0
    ? say('test.restAnswer', { rested, drift: size })
    : say('test.restAnswerRises', { rested, drift: size });
}

function spectra({ sweeps }: Extract<Found, { kind: 'impedance' }>['result'], units: UnitChoice): string {
  const known = sweeps.flatMap((s) => (s.at1kHz.magnitudeOhm === null ? [] : [s.at1kHz.magnitudeOhm]));
  const low = quantity(Math.min(...known), 'Ohm', units, 3);
  const high = quantity(Math.max(...known), 'Ohm', units, 3);
  return say('test.spectraAnswer', {
    values: known.length === 0 ? '–' : low === high ? low : `${low} – ${high}`,
    good: sweeps.filter((s) => s.consistency.verdict === 'consistent').length,
    sweeps: sweeps.length,
  });
}
