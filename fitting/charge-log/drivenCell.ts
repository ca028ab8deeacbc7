import { BRANCH, type CompiledCell, OCV, R0 } from '../charging/index.ts';
import type { CondensedLog } from './condenseLog.ts';

/** What of a cell may differ from its model in a measured charge, and what of the log is not known exactly. */
export interface DrivenParameters {
  readonly capacityAh: number;
  readonly startSoc: number;
  /** Factor on R0. */
  readonly r0Factor: number;
  /** Factor on the resistances of all RC branches of the model. */
  readonly branchFactor: number;
  /** A further branch that short pulses cannot show; 0 Ω: none. */
  readonly slowOhm: number;
  readonly slowTauS: number;
  /** Reading of the current channel minus the true current, A. */
  readonly currentOffsetA: number;
  /** Moment of each jump of the current as a fraction of the interval in which it lies. */
  readonly edgeFractions: readonly number[];
}

/** The terms of the voltage by row: V = OCV + ohmic + branches + slow. Buffers of one length, reused between calls. */
export interface DrivenTerms {
  readonly ocvV: Float64Array;
  /** R0 × current, R0 already multiplied by its factor. */
  readonly ohmicV: Float64Array;
  readonly branchesV: Float64Array;
  readonly slowV: Float64Array;
  readonly soc: Float64Array;
}

export function newTerms(rows: number): DrivenTerms {
  const column = () => new Float64Array(rows);
  return { ocvV: column(), ohmicV: column(), branchesV: column(), slowV: column(), soc: column() };
}

/**
 * A cell model driven by a measured current, linear between rows but for its jumps. SOC follows from the counted charge, and each
 * branch exactly for the resistance and time constant at the end of the interval. The cell starts settled: the branches hold no voltage
 * at the first row. The temperature is the logged one; where none was logged it stays at the given one.
 */
export class DrivenCell {
  readonly cell: CompiledCell;
  private readonly log: CondensedLog;
  private readonly temperatureC: Float64Array | null;
  private readonly otherwiseC: number;
  private readonly state: Float64Array;
  private readonly out: Float64Array;

  constructor(cell: CompiledCell, log: CondensedLog, temperatureC: Float64Array | null, otherwiseC: number) {
    this.cell = cell;
    this.log = log;
    this.temperatureC = temperatureC;
    this.otherwiseC = otherwiseC;
    this.state = new Float64Array(cell.branchCount);
    this.out = new Float64Array(cell.stride);
  }

  /** Fills `terms` for one set of parameters. */
  respond(p: DrivenParameters, terms: DrivenTerms): void {
    const { cell, temperatureC, state, out } = this;
    const { timeS, currentA, chargeAs, edges } = this.log;
    const { ocvV, ohmicV, branchesV, slowV } = terms;
    const perAs = 1 / (3600 * p.capacityAh);
    const slowRate = p.slowOhm === 0 ? 0 : 1 / p.slowTauS;
    state.fill(0);
    let [slow, shiftAs, edge] = [0, 0, 0];
    let current = currentA[0] - p.currentOffsetA;
    for (let k = 0; k < timeS.length; k++) {
      const before = current;
      current = currentA[k] - p.currentOffsetA;
      const dt = k === 0 ? 0 : timeS[k] - timeS[k - 1];
      let fraction: number | null = null;
      if (edge < edges.length && edges[edge].row === k) {
        fraction = p.edgeFractions[edge];
        shiftAs += (0.5 - fraction) * edges[edge].intervalS * edges[edge].jumpA;
        edge += 1;
      }
      const soc = p.startSoc + (chargeAs[k] - p.currentOffsetA * (timeS[k] - timeS[0]) + shiftAs) * perAs;
      const t = temperatureC === null ? this.otherwiseC : temperatureC[k];
      cell.evaluate(soc, t, cell.socStretch(soc), cell.temperatureStretch(t), out, 0);
      let branches = 0;
      for (let j = 0, b = BRANCH; j < state.length; j++, b += 2) {
        const rate = out[b + 1];
        // R / tau and 1 / tau: the drive is R times the current.
        state[j] = followed(state[j], (out[b] / rate) * p.branchFactor, before, current, dt * rate, fraction);
        branches += state[j];
      }
      if (slowRate > 0) slow = followed(slow, p.slowOhm, before, current, dt * slowRate, fraction);
      terms.soc[k] = soc;
      ocvV[k] = out[OCV];
      ohmicV[k] = out[R0] * p.r0Factor * current;
      branchesV[k] = branches;
      slowV[k] = slow;
    }
  }
}

/**
 * Voltage of an RC branch after x = dt / tau of a current that runs linearly from `before` to `after`, or, where `fraction` is given,
 * jumps from the one to the other after that fraction of the interval.
 */
function followed(
  voltage: number,
  ohm: number,
  before: number,
  after: number,
  x: number,
  fraction: number | null,
): number {
  if (x === 0) return voltage;
  if (fraction !== null) {
    const first = Math.exp(-x * fraction);
    const then = Math.exp(-x * (1 - fraction));
    return then * (first * voltage + ohm * (1 - first) * before) + ohm * (1 - then) * after;
  }
  const keep = Math.exp(-x);
  // Mean weight of an exponential over the interval; its series where 1 − e^−x would cancel.
  const mean = x < 1e-4 ? 1 - x / 2 + (x * x) / 6 : (1 - keep) / x;
  return keep * voltage + ohm * ((1 - mean) * after + (mean - keep) * before);
}
