import type { RecordColumns } from '../../../fitting/records/record.ts';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';

/** A part of a made-up record at one current. */
export interface Part {
  readonly seconds: number;
  readonly currentA: number;
  readonly intervalS: number;
  readonly ocvV?: number;
  /** Time without rows before the part. */
  readonly gapBeforeS?: number;
  /** First readings of the current while it still moves. */
  readonly rising?: readonly number[];
  readonly step?: number;
  /** Ends the part where the voltage holds and the current falls exponentially with this time constant. */
  readonly taperS?: number;
}

export interface MadeWith {
  readonly ohm?: number;
  readonly noiseV?: number;
  readonly noiseA?: number;
  readonly resolutionV?: number;
  readonly resolutionA?: number;
  readonly seed?: number;
}

/**
 * A record of parts: voltage = OCV + R·I with noise and quantisation; rows begin one interval after the part
 * before.
 */
export function recordOf(parts: readonly Part[], made: MadeWith = {}): RecordColumns {
  const { ohm = 0.03, noiseV = 0, noiseA = 0, resolutionV = 0, resolutionA = 0, seed = 1 } = made;
  const normal = normalSource(seededRandom(seed));
  const rows: { t: number; v: number; i: number; step: number }[] = [];
  const round = (value: number, step: number): number => (step > 0 ? Math.round(value / step) * step : value);
  let now = 0;
  parts.forEach((part, index) => {
    now += part.gapBeforeS ?? 0;
    const count = Math.max(1, Math.round(part.seconds / part.intervalS));
    for (let k = 1; k <= count; k++) {
      const t = now + k * part.intervalS;
      const settled = part.taperS
        ? part.currentA * Math.exp((-k * part.intervalS) / part.taperS)
        : part.currentA;
      const current = part.rising?.[k - 1] ?? settled;
      const held = part.taperS ? part.currentA : current;
      rows.push({
        t,
        v: round((part.ocvV ?? 3.7) + ohm * held + noiseV * normal(), resolutionV),
        i: round(current + (current === 0 ? 0 : noiseA * normal()), resolutionA),
        step: part.step ?? index,
      });
    }
    now += count * part.intervalS;
  });
  return {
    timeS: Float64Array.from(rows, (row) => row.t),
    voltageV: Float64Array.from(rows, (row) => row.v),
    currentA: Float64Array.from(rows, (row) => row.i),
    ...(parts.some((part) => part.step !== undefined)
      ? { step: Float64Array.from(rows, (row) => row.step) }
      : {}),
  };
}
