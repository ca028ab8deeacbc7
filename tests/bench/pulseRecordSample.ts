import type { RecordColumns } from '../../fitting/records/record.ts';
import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';

/** A made-up pulse record and where its pulses are. */
export interface PulseRecordSample {
  readonly record: RecordColumns;
  /** First row of each pulse, row after it, and row after its relaxation. */
  readonly pulses: readonly { readonly start: number; readonly end: number; readonly last: number }[];
  readonly pulseA: number;
  readonly pulseS: number;
}

/**
 * About 20,000 rows: 20 times a discharge pulse of 30 s (every 0.1 s) with its relaxation (0.1 s for a
 * minute, then 1 s for four minutes more), 0.2 mV of noise, readings in steps of 0.1 mV and 1 mA; the current
 * of the pulses is noisy by 1 mA.
 */
export function pulseRecordSample(seed = 9): PulseRecordSample {
  const normal = normalSource(seededRandom(seed));
  const [pulseA, pulseS] = [-2, 30];
  const rows: [number, number, number][] = [];
  const pulses: { start: number; end: number; last: number }[] = [];
  let now = 0;
  const put = (t: number, volts: number, amperes: number): void => {
    rows.push([t, Math.round((volts + 2e-4 * normal()) * 1e4) / 1e4, Math.round(amperes * 1e3) / 1e3]);
  };
  for (let k = 0; k <= 60; k++) put(now + k, 4.1, 0);
  now += 60;
  for (let p = 0; p < 20; p++) {
    const ocvV = 4.1 - 0.03 * p;
    const [r0, r1, t1, r2, t2] = [0.03 + 0.0004 * p, 0.012, 1.5 + 0.05 * p, 0.02, 18 + 0.3 * p];
    const start = rows.length;
    for (let k = 1; k <= 10 * pulseS; k++) {
      const s = k / 10;
      const rise = r0 + r1 * (1 - Math.exp(-s / t1)) + r2 * (1 - Math.exp(-s / t2));
      put(now + s, ocvV + pulseA * rise, pulseA + 1e-3 * normal());
    }
    const end = rows.length;
    const times = [
      ...Array.from({ length: 600 }, (_, k) => (k + 1) / 10),
      ...Array.from({ length: 240 }, (_, k) => 61 + k),
    ];
    for (const s of times) {
      const left =
        r1 * (1 - Math.exp(-pulseS / t1)) * Math.exp(-s / t1) +
        r2 * (1 - Math.exp(-pulseS / t2)) * Math.exp(-s / t2);
      put(now + pulseS + s, ocvV + pulseA * left, 0);
    }
    pulses.push({ start, end, last: rows.length });
    now += pulseS + 300;
    // On to the next level, with a rest that ends at its OCV.
    for (let k = 1; k <= 20; k++) put(now + 30 * k, ocvV - 0.03 * (k / 20) - r0 - 0.02, -1 + 1e-3 * normal());
    now += 600;
    for (let k = 1; k <= 60; k++) put(now + 20 * k, ocvV - 0.03, 0);
    now += 1200;
  }
  return {
    record: {
      timeS: Float64Array.from(rows, (row) => row[0]),
      voltageV: Float64Array.from(rows, (row) => row[1]),
      currentA: Float64Array.from(rows, (row) => row[2]),
    },
    pulses,
    pulseA,
    pulseS,
  };
}
