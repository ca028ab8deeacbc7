import type { RecordColumns } from '../../fitting/records/record.ts';
import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';

/** How a simulated discharge is made and read. */
export interface DischargeOptions {
  readonly seed: number;
  /** Interval of the rows. */
  readonly intervalS: number;
  /** When the current is switched relative to the rows: just after a row, just at a row (which reads it), or anywhere. */
  readonly phase?: 'after-row' | 'at-row' | 'anywhere';
  /** Whether the tester stops at the cut-off, or goes on to 2 V. */
  readonly stops?: boolean;
  readonly noiseV?: number;
  readonly noiseA?: number;
  readonly resolutionV?: number;
  readonly resolutionA?: number;
  readonly offsetA?: number;
  /** Spread of an offset that each record has of its own. */
  readonly offsetSpreadA?: number;
  /** Whether a row's current is the mean since the row before. */
  readonly averaged?: boolean;
  readonly currentA?: number;
  readonly restS?: number;
}

/** A simulated record, with the charge that was taken out when the voltage met the cut-off. */
export interface SimulatedDischarge {
  readonly record: RecordColumns;
  readonly trueAh: number;
  readonly cutoffV: number;
}

const CAPACITY_AH = 2.5;
const CUTOFF_V = 2.7;
/** Where a tester stops that goes on below the cut-off. */
const DEEP_V = 2;
const branches = [
  { ohm: 0.015, tauS: 5 },
  { ohm: 0.02, tauS: 60 },
] as const;

/** An open-circuit voltage with the knee of a layered-oxide cell towards empty; invented. */
function ocv(soc: number): number {
  return 3.45 + 0.62 * soc + 0.1 * soc * soc - 0.95 * Math.exp(-22 * soc);
}

/** Voltage under a steady discharge `t` seconds after it was switched on from full. */
function loadedVoltage(currentA: number, t: number): number {
  const drop = branches.reduce((sum, { ohm, tauS }) => sum + ohm * (1 - Math.exp(-t / tauS)), 0.03);
  return ocv(1 - (currentA * t) / 3600 / CAPACITY_AH) - currentA * drop;
}

/** A rest, a discharge from full at one current to the cut-off or below, and a rest, seen through an instrument. */
export function simulateDischarge(options: DischargeOptions): SimulatedDischarge {
  const { seed, intervalS, phase = 'anywhere', stops = true, restS = 900 } = options;
  const random = seededRandom(seed);
  const normal = normalSource(random);
  const currentA = options.currentA ?? 2.4 + 0.2 * random();
  const startS =
    phase === 'anywhere' ? restS + intervalS * random() : Math.ceil(restS / intervalS) * intervalS;
  const crossingS = bisect((t) => loadedVoltage(currentA, t) - CUTOFF_V, 60, (3600 * CAPACITY_AH) / currentA);
  const deeperS = bisect((t) => loadedVoltage(currentA, t) - DEEP_V, crossingS, crossingS + 3600);
  const offS = startS + (stops ? crossingS : deeperS);
  const loadS = offS - startS;
  const offsetA = (options.offsetA ?? 0) + (options.offsetSpreadA ?? 0) * normal();
  const meanShare = (t: number): number =>
    Math.max(0, Math.min(t, offS) - Math.max(t - intervalS, startS)) / intervalS;
  const round = (value: number, step = 0): number => (step > 0 ? Math.round(value / step) * step : value);
  const rows: [number, number, number][] = [];
  for (let k = 0; k * intervalS <= offS + Math.max(1800, 8 * intervalS); k++) {
    const t = k * intervalS;
    const on = phase === 'at-row' ? t >= startS && t < offS : t > startS && t <= offS;
    const restingV =
      t < offS
        ? ocv(1)
        : ocv(1 - (currentA * loadS) / 3600 / CAPACITY_AH) -
          branches.reduce(
            (sum, { ohm, tauS }) =>
              sum + currentA * ohm * (1 - Math.exp(-loadS / tauS)) * Math.exp(-(t - offS) / tauS),
            0,
          );
    const voltageV = on ? loadedVoltage(currentA, t - startS) : restingV;
    const current = -currentA * (options.averaged ? meanShare(t) : Number(on));
    rows.push([
      t,
      round(voltageV + (options.noiseV ?? 0) * normal(), options.resolutionV),
      round(current + offsetA + (options.noiseA ?? 0) * normal(), options.resolutionA),
    ]);
  }
  return {
    record: {
      timeS: Float64Array.from(rows, (row) => row[0]),
      voltageV: Float64Array.from(rows, (row) => row[1]),
      currentA: Float64Array.from(rows, (row) => row[2]),
    },
    trueAh: (currentA * crossingS) / 3600,
    cutoffV: CUTOFF_V,
  };
}

function bisect(f: (x: number) => number, low: number, high: number): number {
  let [a, b] = [low, high];
  for (let round = 0; round < 80; round++) {
    const middle = (a + b) / 2;
    if (f(middle) > 0) a = middle;
    else b = middle;
  }
  return (a + b) / 2;
}
