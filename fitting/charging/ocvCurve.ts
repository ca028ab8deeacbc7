import { monotoneSlopes } from '../numeric/index.ts';
/**
 * The open-circuit voltage of a cell in charge: a table read by straight lines or by a monotone cubic (pchip: Fritsch
 * and Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300–304), or the published closed form
 * a e^(−b z) + c0 + c1 z + c2 z² + … (Chen and Rincón-Mora, IEEE Trans. Energy Convers. 21 (2006) 504–511).
 */
export type OcvForm =
  | { readonly kind: 'table'; readonly values: Float64Array; readonly interpolation: 'linear' | 'pchip' }
  | {
      readonly kind: 'exponential-polynomial';
      readonly a: number;
      readonly b: number;
      readonly coefficients: readonly number[];
    };

export interface CompiledOcv {
  /** True where the curve has no corner at the points of the SOC grid (the resistances may still have). */
  readonly dependsOnTemperature: boolean;
  /** Writes OCV and dOCV/dz at out[at], out[at + 1]. */
  evaluate(
    soc: number,
    tC: number,
    socStretch: number,
    tStretch: number,
    out: Float64Array,
    at: number,
  ): void;
  /** ∫ OCV dz between two SOC of one stretch; exact where the OCV does not depend on temperature. */
  integral(from: number, to: number, socStretch: number, tC: number, tStretch: number): number;
}

/**
 * Checks a form and makes it ready for evaluation over the given grids.
 * @throws RangeError where a table's length or a value is wrong.
 */
export function compileOcv(form: OcvForm, soc: Float64Array, temperatureC: Float64Array): CompiledOcv {
  if (form.kind === 'exponential-polynomial')
    return new ExponentialPolynomial(form.a, form.b, form.coefficients);
  const points = soc.length * temperatureC.length;
  if (form.values.length !== points)
    throw new RangeError(`ocv has ${form.values.length} values; the grid has ${points} points`);
  const bad = form.values.findIndex((value) => !Number.isFinite(value));
  if (bad >= 0) throw new RangeError(`ocv[${bad}] is ${form.values[bad]}; it must be a finite number`);
  return new OcvTable(form.values, soc, temperatureC, form.interpolation === 'pchip');
}

class OcvTable implements CompiledOcv {
  readonly dependsOnTemperature: boolean;
  private readonly values: Float64Array;
  private readonly slopes: Float64Array | null;
  private readonly soc: Float64Array;
  private readonly temperatureC: Float64Array;
  private readonly scratch = new Float64Array(2);

  constructor(values: Float64Array, soc: Float64Array, temperatureC: Float64Array, cubic: boolean) {
    const count = temperatureC.length;
    this.values = values;
    this.soc = soc;
    this.temperatureC = temperatureC;
    this.dependsOnTemperature = values.some((value, p) => value !== values[p - (p % count)]);
    this.slopes = cubic ? pchipSlopes(values, soc, count) : null;
  }

  evaluate(
    soc: number,
    tC: number,
    socStretch: number,
    tStretch: number,
    out: Float64Array,
    at: number,
  ): void {
    const count = this.temperatureC.length;
    const column = Math.max(tStretch, 0);
    this.alongSoc(soc, socStretch, column, out, at);
    if (!this.dependsOnTemperature || tStretch < 0 || tStretch >= count - 1) return;
    const cold = out[at];
    const coldSlope = out[at + 1];
    this.alongSoc(soc, socStretch, column + 1, out, at);
    const t = this.temperatureC;
    const b = (tC - t[column]) / (t[column + 1] - t[column]);
    out[at] = cold + b * (out[at] - cold);
    out[at + 1] = coldSlope + b * (out[at + 1] - coldSlope);
  }

  integral(from: number, to: number, socStretch: number, tC: number, tStretch: number): number {
    // Simpson's rule is exact for a cubic.
    const at = (z: number) => {
      this.evaluate(z, tC, socStretch, tStretch, this.scratch, 0);
      return this.scratch[0];
    };
    return ((to - from) / 6) * (at(from) + 4 * at((from + to) / 2) + at(to));
  }

  private alongSoc(soc: number, stretch: number, column: number, out: Float64Array, at: number): void {
    const { soc: grid, values } = this;
    const count = this.temperatureC.length;
    const last = grid.length - 1;
    const k = stretch < 0 ? 0 : stretch >= last ? last - 1 : stretch;
    const width = grid[k + 1] - grid[k];
    const low = values[k * count + column];
    const high = values[(k + 1) * count + column];
    const secant = (high - low) / width;
    if (this.slopes === null) {
      out[at] = low + secant * (soc - grid[k]);
      out[at + 1] = secant;
      return;
    }
    const d0 = this.slopes[k * count + column];
    const d1 = this.slopes[(k + 1) * count + column];
    if (stretch < 0 || stretch >= last) {
      const end = stretch < 0 ? 0 : last;
      const slope = stretch < 0 ? d0 : d1;
      out[at] = values[end * count + column] + slope * (soc - grid[end]);
      out[at + 1] = slope;
      return;
    }
    const s = soc - grid[k];
    const c2 = (3 * secant - 2 * d0 - d1) / width;
    const c3 = (d0 + d1 - 2 * secant) / (width * width);
    out[at] = low + s * (d0 + s * (c2 + s * c3));
    out[at + 1] = d0 + s * (2 * c2 + 3 * s * c3);
  }
}

class ExponentialPolynomial implements CompiledOcv {
  readonly dependsOnTemperature = false;
  private readonly a: number;
  private readonly b: number;
  private readonly coefficients: readonly number[];

  constructor(a: number, b: number, coefficients: readonly number[]) {
    if (coefficients.length === 0 || ![a, b, ...coefficients].every(Number.isFinite) || b === 0)
      throw new RangeError('ocv needs finite a, b (not 0) and at least one coefficient');
    this.a = a;
    this.b = b;
    this.coefficients = coefficients;
  }

  evaluate(soc: number, _tC: number, _s: number, _t: number, out: Float64Array, at: number): void {
    const { a, b, coefficients } = this;
    let value = 0;
    let slope = 0;
    for (let p = coefficients.length - 1; p >= 0; p--) {
      slope = slope * soc + value;
      value = value * soc + coefficients[p];
    }
    const e = a * Math.exp(-b * soc);
    out[at] = value + e;
    out[at + 1] = slope - b * e;
  }

  integral(from: number, to: number): number {
    const { a, b, coefficients } = this;
    const primitive = (z: number) => {
      let sum = 0;
      for (let p = coefficients.length - 1; p >= 0; p--) sum = sum * z + coefficients[p] / (p + 1);
      return sum * z - (a / b) * Math.exp(-b * z);
    };
    return primitive(to) - primitive(from);
  }
}

/** Slopes along the state of charge, one column of the table for each temperature. */
function pchipSlopes(values: Float64Array, soc: Float64Array, columns: number): Float64Array {
  const slopes = new Float64Array(values.length);
  for (let c = 0; c < columns; c++) {
    const column = Float64Array.from(soc, (_, k) => values[k * columns + c]);
    monotoneSlopes(soc, column).forEach((slope, k) => {
      slopes[k * columns + c] = slope;
    });
  }
  return slopes;
}
