import type { FitModel, FitParameter } from '../least-squares/index.ts';
import type { ChargeLog, InstrumentErrors } from './chargeLog.ts';
import { type CondensedLog, condenseLog } from './condenseLog.ts';
import { DrivenCell, type DrivenParameters, type DrivenTerms, newTerms } from './drivenCell.ts';
import {
  type CellToFit,
  type KnownOffset,
  type LogParameter,
  type LogQuantity,
  UNITS,
} from './logParameters.ts';
import { forKnots } from './ocvKnots.ts';

/** A moment anywhere in an interval: mean and standard deviation of the uniform distribution. */
const EDGE_MEAN = 0.5;
const EDGE_SPREAD = 1 / Math.sqrt(12);
const RESISTANCES: readonly LogQuantity[] = ['r0Factor', 'branchFactor', 'slowOhm'];
/** Standard uncertainties beyond which a stated one is contradicted. */
const LARGEST_DEVIATION = 4;
/** Jumps whose moment is fitted; further ones are taken in the middle of their interval. */
const MOST_EDGES = 12;

/**
 * The measured cell voltages of one or several logs as one least-squares problem: y holds the voltages at settled rows, log by log and
 * cell by cell, then one pseudo-observation for each constant error of a channel, which is how their known size enters (a normal prior).
 */
export class LogProblem {
  readonly parameters: readonly LogParameter[];
  readonly y: Float64Array;
  /** The logs as they take part. */
  readonly logs: readonly CondensedLog[];
  readonly cells: readonly CellToFit[];
  private readonly ambientsC: readonly number[];
  private readonly offsets: readonly KnownOffset[];
  private readonly instrument: InstrumentErrors;
  private readonly driven: readonly (readonly DrivenCell[])[];
  private readonly terms: readonly DrivenTerms[];
  private readonly moved: readonly DrivenTerms[];
  private readonly starts: readonly FitParameter[];

  constructor(
    logs: readonly ChargeLog[],
    cells: readonly CellToFit[],
    offsets: readonly KnownOffset[],
    instrument: InstrumentErrors,
    firstS: number,
  ) {
    this.logs = logs.map((log) => condenseLog(log, firstS));
    this.cells = cells;
    this.ambientsC = logs.map(({ ambientTemperatureC }) => ambientTemperatureC);
    this.offsets = offsets;
    this.instrument = instrument;
    this.driven = this.logs.map((log, l) =>
      cells.map(({ cell }, k) => new DrivenCell(cell, log, log.temperatureC[k], logs[l].ambientTemperatureC)),
    );
    this.terms = this.logs.map((log) => newTerms(log.timeS.length));
    this.moved = this.logs.map((log) => newTerms(log.timeS.length));
    this.parameters = this.listParameters();
    this.starts = this.parameters.map((parameter) => this.startOf(parameter));
    this.y = this.observations();
  }

  /** Parameters with starts and bounds; `fixed` keeps some of them as they are before the fit. */
  fitParameters(fixed: (parameter: LogParameter) => boolean): FitParameter[] {
    const { before } = this;
    return this.starts.map((parameter, p) =>
      fixed(this.parameters[p])
        ? { name: parameter.name, unit: parameter.unit, start: before[p], fixed: true }
        : parameter,
    );
  }

  /** Every parameter as it is before the fit. */
  get before(): Float64Array {
    return Float64Array.from(this.parameters, ({ quantity, cell, log }) =>
      this.given(quantity, cell ?? 0, log ?? 0),
    );
  }

  /** SOC of a knot of the OCV; null for every other parameter. */
  socOf({ quantity, cell, index }: LogParameter): number | null {
    return quantity === 'ocvKnotV' ? (this.cells[cell ?? 0].knots?.soc[index ?? 0] ?? null) : null;
  }

  /**
   * What adds to the standard error of a parameter whatever the log: the scale of the study's curve to a start SOC and a capacity, the
   * gain of the current channel to capacities and resistances, a temperature that the study's resistances do not follow to these.
   */
  scaleError({ quantity, cell }: LogParameter, value: number): number {
    const { knots, warmingShare } = this.cells[cell ?? 0];
    const scale = knots?.socScale ?? 0;
    if (quantity === 'startSoc') return scale;
    if (quantity === 'capacityAh') return Math.hypot(scale, this.instrument.currentGain) * value;
    return RESISTANCES.includes(quantity) ? Math.hypot(this.instrument.currentGain, warmingShare) * value : 0;
  }

  /** Standard uncertainty of each cell's curve as a whole, V. */
  get curveSpreadsV(): readonly number[] {
    return this.cells.map(({ curveSpreadV }) => curveSpreadV);
  }

  /** What the OCV of a cell may still be off between two of its corrections, V². */
  remainderV2(cell: number): number {
    return (this.cells[cell].knots?.remainderV ?? 0) ** 2;
  }

  /** True where a correction of the OCV is larger than the curve's stated uncertainty allows. */
  contradictsCurve(parameter: LogParameter, value: number): boolean {
    const spread = parameter.quantity === 'ocvKnotV' ? this.priorSpread(parameter) : null;
    return spread !== null && Math.abs(value) > LARGEST_DEVIATION * spread;
  }

  /** True where a voltage channel is off by more than its stated uncertainty allows. */
  isOff({ quantity }: LogParameter, value: number): boolean {
    return (
      quantity === 'voltageOffsetV' && Math.abs(value) > LARGEST_DEVIATION * this.instrument.voltageOffsetV
    );
  }

  /** Relative standard uncertainty of a resistance as the study states it; null where it does not. */
  statedSpread({ quantity, cell }: LogParameter): number | null {
    return quantity === 'r0Factor' || quantity === 'branchFactor'
      ? this.cells[cell ?? 0].known[quantity]
      : null;
  }

  /** Where the points of one cell in one log lie in y. */
  range(log: number, cell: number): { readonly start: number; readonly end: number } {
    let start = 0;
    for (let l = 0; l < log; l++) start += this.logs[l].settled.length * this.cells.length;
    const count = this.logs[log].settled.length;
    start += count * cell;
    return { start, end: start + count };
  }

  /**
   * 1/σ² of every point from the variance of one row of each cell voltage; a mean of rows weighs as many.
   * @param held resistances for which the study's own uncertainty counts
   * @param fromPointToPoint share of the curve's stated uncertainty that its points do not have in common
   */
  weights(
    varianceV2: (log: number, cell: number) => number,
    held: ReadonlySet<LogParameter>,
    fromPointToPoint = 1,
  ): Float64Array {
    const weights = new Float64Array(this.y.length);
    this.logs.forEach((log, l) => {
      this.cells.forEach((_cell, k) => {
        const { start } = this.range(l, k);
        const curveV2 = this.curveVariance(l, k);
        log.settled.forEach((row, i) => {
          weights[start + i] = 1 / (varianceV2(l, k) / log.rows[row] + curveV2);
        });
      });
    });
    let at = this.points;
    for (const parameter of this.parameters) {
      const spread = this.priorSpread(parameter);
      if (spread === null) continue;
      const counts = this.statedSpread(parameter) === null || held.has(parameter);
      const sharedV2 =
        parameter.quantity === 'ocvKnotV'
          ? (1 - fromPointToPoint ** 2) * this.cells[parameter.cell ?? 0].curveSpreadV ** 2
          : 0;
      weights[at++] = counts ? 1 / (spread ** 2 - sharedV2) : 0;
    }
    return weights;
  }

  /**
   * What the OCV leaves open between two of its corrections, as the variance of one row: the rows of a stretch share one error, so
   * that together they weigh as two.
   */
  private curveVariance(log: number, cell: number): number {
    const { knots } = this.cells[cell];
    if (knots === null) return 0;
    const rowsPerStretch = this.logs[log].settled.length / knots.soc.length;
    return this.remainderV2(cell) * Math.max(1, rowsPerStretch / 2);
  }

  /** Voltage of every row of a condensed log for one cell, not only of the settled ones. */
  voltages(values: ArrayLike<number>, log: number, cell: number): Float64Array {
    const terms = this.terms[log];
    this.respond(values, log, cell, terms);
    const offset = this.valueOf(values, 'voltageOffsetV', cell, null);
    return terms.ocvV.map((ocv, r) => ocv + terms.ohmicV[r] + terms.branchesV[r] + terms.slowV[r] + offset);
  }

  /** Temperature of a cell at a row of a log: its own where logged, else that of the surroundings. */
  temperatureC(log: number, cell: number, row: number): number {
    return this.logs[log].temperatureC[cell]?.[row] ?? this.ambientsC[log];
  }

  /** SOC of every row of a log for one cell. */
  socs(values: ArrayLike<number>, log: number, cell: number): Float64Array {
    this.respond(values, log, cell, this.terms[log]);
    return this.terms[log].soc.slice();
  }

  get model(): FitModel {
    return {
      evaluate: (values, out) => {
        this.logs.forEach((_, l) => {
          this.cells.forEach((_cell, k) => {
            this.fill(values, l, k, this.terms[l], out);
          });
        });
        this.fillPriors(values, out);
      },
      jacobian: (values, columns) => this.jacobian(values, columns),
    };
  }

  private get points(): number {
    return this.logs.reduce((sum, log) => sum + log.settled.length, 0) * this.cells.length;
  }

  private listParameters(): LogParameter[] {
    const parameters: LogParameter[] = [];
    this.cells.forEach(({ free, knots }, cell) => {
      for (const quantity of free) {
        if (quantity !== 'startSoc') parameters.push({ quantity, cell, log: null, index: null });
        else this.logs.forEach((_, log) => void parameters.push({ quantity, cell, log, index: null }));
      }
      parameters.push({ quantity: 'voltageOffsetV', cell, log: null, index: null });
      knots?.soc.forEach((_, index) => {
        parameters.push({ quantity: 'ocvKnotV', cell, log: null, index });
      });
    });
    this.logs.forEach(({ edges }, log) => {
      parameters.push({ quantity: 'currentOffsetA', cell: null, log, index: null });
      edges.slice(0, MOST_EDGES).forEach((_, index) => {
        parameters.push({ quantity: 'edgeFraction', cell: null, log, index });
      });
    });
    return parameters;
  }

  private startOf(parameter: LogParameter): FitParameter {
    const { quantity, cell, log, index } = parameter;
    const place = { cell, log, index };
    const name = [
      quantity,
      ...Object.entries(place).map(([key, at]) => (at === null ? '' : `${key} ${at + 1}`)),
    ]
      .filter((part) => part !== '')
      .join(' ');
    const unit = UNITS[quantity];
    const given = this.given(quantity, cell ?? 0, log ?? 0);
    if (quantity === 'startSoc') {
      const start = this.cells[cell ?? 0].searchSoc[log ?? 0];
      return { name, unit, start, min: -0.1, max: 1.1 };
    }
    if (quantity === 'edgeFraction') return { name, unit, start: given, min: 0, max: 1 };
    if (quantity === 'voltageOffsetV' || quantity === 'currentOffsetA' || quantity === 'ocvKnotV')
      return { name, unit, start: given };
    if (quantity === 'slowOhm') {
      const start = this.cells[cell ?? 0].slow?.ohm ?? 1;
      return { name, unit, start, min: start / 1000, max: start * 20 };
    }
    return { name, unit, start: given, min: given / 20, max: given * 20 };
  }

  /** The value before the fit. */
  private given(quantity: LogQuantity, cell: number, log: number): number {
    const { cell: model, startSoc, slow } = this.cells[cell];
    switch (quantity) {
      case 'capacityAh':
        return model.model.capacityAh;
      case 'startSoc':
        return startSoc[log];
      case 'slowTauS':
        return slow?.tauS ?? 1;
      case 'slowOhm':
      case 'voltageOffsetV':
      case 'ocvKnotV':
        return 0;
      case 'currentOffsetA':
        return this.offsets[log].valueA;
      case 'edgeFraction':
        return EDGE_MEAN;
      default:
        return 1;
    }
  }

  private valueOf(
    values: ArrayLike<number>,
    quantity: LogQuantity,
    cell: number | null,
    log: number | null,
  ): number {
    const at = this.parameters.findIndex((p) => p.quantity === quantity && p.cell === cell && p.log === log);
    return at < 0 ? this.given(quantity, cell ?? 0, log ?? 0) : values[at];
  }

  private of(values: ArrayLike<number>, log: number, cell: number): DrivenParameters {
    const slow = this.cells[cell].slow !== null;
    return {
      capacityAh: this.valueOf(values, 'capacityAh', cell, null),
      startSoc: this.valueOf(values, 'startSoc', cell, log),
      r0Factor: this.valueOf(values, 'r0Factor', cell, null),
      branchFactor: this.valueOf(values, 'branchFactor', cell, null),
      slowOhm: slow ? this.valueOf(values, 'slowOhm', cell, null) : 0,
      slowTauS: slow ? this.valueOf(values, 'slowTauS', cell, null) : 1,
      currentOffsetA: this.valueOf(values, 'currentOffsetA', null, log),
      edgeFractions: this.edgeFractions(values, log),
    };
  }

  private edgeFractions(values: ArrayLike<number>, log: number): number[] {
    const fractions = this.logs[log].edges.map(() => EDGE_MEAN);
    this.parameters.forEach((parameter, p) => {
      if (parameter.quantity === 'edgeFraction' && parameter.log === log)
        fractions[parameter.index ?? 0] = values[p];
    });
    return fractions;
  }

  private observations(): Float64Array {
    const priors = this.parameters.filter((parameter) => this.priorSpread(parameter) !== null);
    const y = new Float64Array(this.points + priors.length);
    this.logs.forEach((log, l) => {
      this.cells.forEach((_, k) => {
        const { start } = this.range(l, k);
        log.settled.forEach((row, i) => {
          y[start + i] = log.voltageV[k][row];
        });
      });
    });
    priors.forEach((parameter, i) => {
      y[this.points + i] = this.given(parameter.quantity, 0, parameter.log ?? 0);
    });
    return y;
  }

  private priorSpread(parameter: LogParameter): number | null {
    const { quantity, cell, log, index } = parameter;
    if (quantity === 'ocvKnotV') return this.cells[cell ?? 0].knots?.standardUncertaintyV[index ?? 0] ?? null;
    if (quantity === 'voltageOffsetV') return this.instrument.voltageOffsetV;
    if (quantity === 'currentOffsetA') return this.offsets[log ?? 0].standardUncertaintyA;
    return quantity === 'edgeFraction' ? EDGE_SPREAD : this.statedSpread(parameter);
  }

  /** The terms of the voltage, with the corrections of the OCV. */
  private respond(values: ArrayLike<number>, log: number, cell: number, terms: DrivenTerms): void {
    this.driven[log][cell].respond(this.of(values, log, cell), terms);
    const { knots } = this.cells[cell];
    if (knots === null) return;
    const first = this.parameters.findIndex((p) => p.quantity === 'ocvKnotV' && p.cell === cell);
    for (let r = 0; r < terms.soc.length; r++)
      forKnots(knots.soc, terms.soc[r], (knot, weight) => {
        terms.ocvV[r] += weight * values[first + knot];
      });
  }

  private fill(
    values: ArrayLike<number>,
    log: number,
    cell: number,
    terms: DrivenTerms,
    out: Float64Array,
  ): void {
    this.respond(values, log, cell, terms);
    const offset = this.valueOf(values, 'voltageOffsetV', cell, null);
    const { ocvV, ohmicV, branchesV, slowV } = terms;
    const rows = this.logs[log].settled;
    const { start } = this.range(log, cell);
    for (let i = 0; i < rows.length; i++) {
      const r = rows[i];
      out[start + i] = ocvV[r] + ohmicV[r] + branchesV[r] + slowV[r] + offset;
    }
  }

  private fillPriors(values: ArrayLike<number>, out: Float64Array): void {
    let at = this.points;
    this.parameters.forEach((parameter, p) => {
      if (this.priorSpread(parameter) !== null) out[at++] = values[p];
    });
  }

  /** Exact where the voltage is linear in the parameter, else central differences of the one cell it belongs to. */
  private jacobian(values: Float64Array, columns: readonly Float64Array[]): void {
    for (const column of columns) column.fill(0);
    this.logs.forEach((_, l) => {
      this.cells.forEach((_cell, k) => {
        this.respond(values, l, k, this.terms[l]);
        this.parameters.forEach((parameter, p) => {
          if ((parameter.cell ?? k) !== k || (parameter.log ?? l) !== l) return;
          this.column(values, p, l, k, columns[p]);
        });
      });
    });
    let at = this.points;
    this.parameters.forEach((parameter, p) => {
      if (this.priorSpread(parameter) !== null) columns[p][at++] = 1;
    });
  }

  private column(values: Float64Array, p: number, log: number, cell: number, out: Float64Array): void {
    const { quantity } = this.parameters[p];
    const { start } = this.range(log, cell);
    const rows = this.logs[log].settled;
    const { ohmicV, branchesV, slowV } = this.terms[log];
    const linear: Partial<Record<LogQuantity, Float64Array>> = {
      r0Factor: ohmicV,
      branchFactor: branchesV,
      slowOhm: slowV,
    };
    const term = linear[quantity];
    const knots = this.cells[cell].knots?.soc ?? [];
    if (quantity === 'voltageOffsetV') out.fill(1, start, start + rows.length);
    else if (quantity === 'ocvKnotV')
      rows.forEach((r, i) => {
        forKnots(knots, this.terms[log].soc[r], (knot, weight) => {
          if (knot === this.parameters[p].index) out[start + i] += weight;
        });
      });
    else if (term !== undefined)
      rows.forEach((r, i) => {
        out[start + i] = values[p] === 0 ? 0 : term[r] / values[p];
      });
    else this.difference(values, p, log, cell, out);
  }

  private difference(values: Float64Array, p: number, log: number, cell: number, out: Float64Array): void {
    const { quantity } = this.parameters[p];
    const h = quantity === 'capacityAh' || quantity === 'slowTauS' ? 1e-6 * values[p] : 1e-6;
    const { start } = this.range(log, cell);
    const rows = this.logs[log].settled;
    const moved = values.slice();
    for (const sign of [1, -1]) {
      moved[p] = values[p] + sign * h;
      const terms = this.moved[log];
      this.respond(moved, log, cell, terms);
      const scale = sign / (2 * h);
      for (let i = 0; i < rows.length; i++) {
        const r = rows[i];
        out[start + i] += scale * (terms.ocvV[r] + terms.ohmicV[r] + terms.branchesV[r] + terms.slowV[r]);
      }
    }
  }
}
