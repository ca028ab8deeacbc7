import type { RecordColumns } from '../../../../fitting/records/record.ts';
import { normalSource, seededRandom } from '../../../../fitting/statistics/random.ts';

/** A cell at one SOC: R0 and its branches. */
export interface CellThere {
  readonly r0Ohm: number;
  readonly branches: readonly { readonly ohm: number; readonly tauS: number }[];
}

/** How the record is taken. */
export interface TakenWith {
  /** First-order lag of the voltage channel in s; 0 for none. */
  readonly lagS: number;
  /** The current changes up to so long after the row before, in s, differently at every edge. */
  readonly lateS: number;
  readonly noiseV: number;
  readonly seed: number;
}

const PULSE_S = 10;
const REST_S = 60;
const INTERVAL_S = 0.1;
const CURRENT_A = -3;
const OCV_V = 3.7;

/**
 * Voltage of a step of 1 A a time after it, as a channel with a lag λ shows it: R0(1 − e^(−t/λ)) and
 * R(1 − (τe^(−t/τ) − λe^(−t/λ))/(τ − λ)), the solution of λ·dv/dt + v = u(t) for each element.
 */
function stepOhm({ r0Ohm, branches }: CellThere, lagS: number, timeS: number): number {
  if (timeS <= 0) return 0;
  const left = lagS > 0 ? Math.exp(-timeS / lagS) : 0;
  return branches.reduce(
    (sum, { ohm, tauS }) => sum + ohm * (1 - (tauS * Math.exp(-timeS / tauS) - lagS * left) / (tauS - lagS)),
    r0Ohm * (1 - left),
  );
}

/** A record with one pulse at each of several SOCs, with rests that settle between them. */
export function laggedRecord(cells: readonly CellThere[], taken: TakenWith): RecordColumns {
  const random = seededRandom(taken.seed);
  const normal = normalSource(random);
  const rows: [number, number, number][] = [];
  let nowS = 0;
  for (const cell of cells) {
    const onS = nowS + REST_S + taken.lateS * random();
    const offS = nowS + REST_S + PULSE_S + taken.lateS * random();
    const count = Math.round((2 * REST_S + PULSE_S) / INTERVAL_S);
    for (let k = 1; k <= count; k++) {
      const timeS = nowS + k * INTERVAL_S;
      const ohm = stepOhm(cell, taken.lagS, timeS - onS) - stepOhm(cell, taken.lagS, timeS - offS);
      const loaded = timeS > nowS + REST_S + 1e-6 && timeS < nowS + REST_S + PULSE_S + 1e-6;
      rows.push([timeS, OCV_V + CURRENT_A * ohm + taken.noiseV * normal(), loaded ? CURRENT_A : 0]);
    }
    nowS += 2 * REST_S + PULSE_S + 400;
    rows.push([nowS, OCV_V, 0]);
  }
  const column = (i: number): Float64Array => Float64Array.from(rows, (row) => row[i]);
  return { timeS: column(0), voltageV: column(1), currentA: column(2) };
}
