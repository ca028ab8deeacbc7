import { GAS_CONSTANT, ZERO_CELSIUS_K } from '../numeric/index.ts';
import { type CompiledOcv, compileOcv, type OcvForm } from './ocvCurve.ts';

/**
 * The cell: an equivalent circuit with a lumped heat balance. Current `i` is positive on charge.
 *
 *   dz/dt   = i / (3600 Q)
 *   dv_j/dt = (R_j i − v_j) / tau_j                       j = 1…m
 *   V       = OCV(z, T) + R0(z, T) i + Σ v_j
 *   C dT/dt = i (V − OCV) + i (T + 273.15) dU/dT(z) − K (T − T_ambient)
 *
 * The heat is that of Bernardi, Pawlikowski and Newman, J. Electrochem. Soc. 132 (1985) 5–12,
 * doi:10.1149/1.2113792, in its single-reaction form, turned to current positive on charge: what a branch holds for
 * the moment counts as lost when it is put in.
 *
 * R0, R_j, tau_j, dU/dT (and the OCV, where it is a table) are read between the grid's points by a straight line in SOC
 * and in temperature (bilinear), which a circuit simulator does the same way with `pwl`. Outside the temperature grid the edge
 * value holds; outside the SOC grid the edge value holds too, except for the OCV, which goes on with the slope of the
 * last stretch so that an overcharge shows. The Arrhenius factor exp[(Ea/R)(1/T − 1/Tref)], where given, multiplies
 * R0 (and the branch resistances, where said; tau_j stays).
 */
export interface CellModel {
  /** Capacity between SOC 0 and 1, Ah. */
  readonly capacityAh: number;
  /** Ascending SOC grid, at least two points. */
  readonly soc: Float64Array;
  /** Ascending temperature grid, at least one point, °C. */
  readonly temperatureC: Float64Array;
  readonly ocv: OcvForm;
  /** Tables have one value per grid point: index iSoc × (number of temperatures) + iTemperature. */
  readonly r0Ohm: Float64Array;
  readonly branches: readonly { readonly rOhm: Float64Array; readonly tauS: Float64Array }[];
  readonly arrhenius: {
    readonly activationEnergyJPerMol: number;
    readonly referenceTemperatureC: number;
    readonly branchesToo: boolean;
  } | null;
  /** dU/dT in V/K, same indexing; null: no reversible heat. */
  readonly entropicVPerK: Float64Array | null;
  /** Null: the temperature stays where it starts. */
  readonly thermal: { readonly heatCapacityJPerK: number; readonly heatTransferWPerK: number } | null;
}

/** Molar gas constant, J/(mol K), exact since the SI of 2019. */

/** Positions in what `evaluate` writes: OCV, its slope against SOC, R0, dU/dT, then R / tau and 1 / tau of each branch. */
export const OCV = 0;
export const SLOPE = 1;
export const R0 = 2;
export const ENTROPIC = 3;
export const BRANCH = 4;

/**
 * A cell model checked and laid out for speed. A stretch index s says that SOC lies between soc[s] and soc[s + 1]; −1 and
 * (points − 1) are outside below and above; the same for temperature. The stretch is an argument, not looked up, so
 * that within one solver step every function is smooth even where the step is tried a little past a grid point.
 */
export class CompiledCell {
  readonly model: CellModel;
  readonly branchCount: number;
  readonly ocv: CompiledOcv;
  /** Change of SOC per ampere-second. */
  readonly socPerAs: number;
  readonly stride: number;
  /** True where no parameter but the OCV depends on anything. */
  readonly constantParameters: boolean;
  /** The parameters as they are written out, where the tables are the same everywhere; else null. */
  private readonly constants: Float64Array | null;
  private readonly arrheniusK: number;
  private readonly arrheniusInverseK: number;
  private readonly data: Float64Array;
  private readonly width: number;
  private readonly temperatures: number;

  constructor(model: CellModel) {
    checkCellModel(model);
    this.model = model;
    this.branchCount = model.branches.length;
    this.ocv = compileOcv(model.ocv, model.soc, model.temperatureC);
    this.socPerAs = 1 / (3600 * model.capacityAh);
    this.stride = BRANCH + 2 * this.branchCount;
    this.width = 2 + 2 * this.branchCount;
    this.temperatures = model.temperatureC.length;
    this.data = layOut(model, this.width);
    this.constants = rowsEqual(this.data, this.width) ? written(this.data.slice(0, this.width)) : null;
    this.constantParameters = this.constants !== null && model.arrhenius === null;
    this.arrheniusK = (model.arrhenius?.activationEnergyJPerMol ?? 0) / GAS_CONSTANT;
    this.arrheniusInverseK = 1 / ((model.arrhenius?.referenceTemperatureC ?? 0) + ZERO_CELSIUS_K);
  }

  /** Stretch that holds `soc`; a grid point belongs to the stretch above it. */
  socStretch(soc: number): number {
    return stretchOf(this.model.soc, soc);
  }

  temperatureStretch(temperatureC: number): number {
    return this.temperatures === 1 ? 0 : stretchOf(this.model.temperatureC, temperatureC);
  }

  /** Writes OCV, slope, R0, dU/dT, R_j / tau_j and 1 / tau_j at `out[at…]` for a SOC and temperature in the given stretches. */
  evaluate(
    soc: number,
    tC: number,
    socStretch: number,
    tStretch: number,
    out: Float64Array,
    at: number,
  ): void {
    this.ocv.evaluate(soc, tC, socStretch, tStretch, out, at);
    this.evaluateParameters(soc, tC, socStretch, tStretch, out, at);
  }

  /** The same without OCV and slope. */
  evaluateParameters(
    soc: number,
    tC: number,
    socStretch: number,
    tStretch: number,
    out: Float64Array,
    at: number,
  ): void {
    const { constants, width, branchCount } = this;
    if (constants !== null) for (let q = 0; q < width; q++) out[at + R0 + q] = constants[q];
    else {
      this.readTables(soc, tC, socStretch, tStretch, out, at);
      for (let b = at + BRANCH; b < at + BRANCH + 2 * branchCount; b += 2) {
        out[b + 1] = 1 / out[b + 1];
        out[b] *= out[b + 1];
      }
    }
    const { arrhenius } = this.model;
    if (arrhenius === null) return;
    const factor = Math.exp(this.arrheniusK * (1 / (tC + ZERO_CELSIUS_K) - this.arrheniusInverseK));
    out[at + R0] *= factor;
    if (arrhenius.branchesToo) for (let j = 0; j < branchCount; j++) out[at + BRANCH + 2 * j] *= factor;
  }

  private readTables(
    soc: number,
    tC: number,
    socStretch: number,
    tStretch: number,
    out: Float64Array,
    at: number,
  ): void {
    const { data, width, temperatures, model } = this;
    const lowSoc = Math.max(socStretch, 0);
    const highSoc = socStretch < 0 ? 0 : Math.min(socStretch + 1, model.soc.length - 1);
    const a = lowSoc === highSoc ? 0 : (soc - model.soc[lowSoc]) / (model.soc[highSoc] - model.soc[lowSoc]);
    const lowT = Math.max(tStretch, 0);
    const highT = tStretch < 0 ? 0 : Math.min(tStretch + 1, temperatures - 1);
    const p = (lowSoc * temperatures + lowT) * width;
    const q = (highSoc * temperatures + lowT) * width;
    if (lowT === highT) {
      for (let k = 0; k < width; k++) out[at + R0 + k] = data[p + k] + a * (data[q + k] - data[p + k]);
      return;
    }
    const t = model.temperatureC;
    const b = (tC - t[lowT]) / (t[highT] - t[lowT]);
    const r = (lowSoc * temperatures + highT) * width;
    const s = (highSoc * temperatures + highT) * width;
    for (let k = 0; k < width; k++) {
      const cold = data[p + k] + a * (data[q + k] - data[p + k]);
      const warm = data[r + k] + a * (data[s + k] - data[r + k]);
      out[at + R0 + k] = cold + b * (warm - cold);
    }
  }
}

function layOut(model: CellModel, width: number): Float64Array {
  const points = model.soc.length * model.temperatureC.length;
  const data = new Float64Array(points * width);
  for (let p = 0; p < points; p++) {
    data[p * width] = model.r0Ohm[p];
    data[p * width + 1] = model.entropicVPerK === null ? 0 : model.entropicVPerK[p];
    model.branches.forEach((branch, j) => {
      data[p * width + 2 + 2 * j] = branch.rOhm[p];
      data[p * width + 3 + 2 * j] = branch.tauS[p];
    });
  }
  return data;
}

/** One row with R and tau of each branch turned into R / tau and 1 / tau, as `evaluate` writes them. */
function written(row: Float64Array): Float64Array {
  for (let q = 2; q < row.length; q += 2) {
    row[q + 1] = 1 / row[q + 1];
    row[q] *= row[q + 1];
  }
  return row;
}

function rowsEqual(data: Float64Array, width: number): boolean {
  return data.every((value, index) => value === data[index % width]);
}

function stretchOf(grid: Float64Array, value: number): number {
  if (value < grid[0]) return -1;
  let low = 0;
  let high = grid.length;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (grid[middle] <= value) low = middle;
    else high = middle;
  }
  return low;
}

function checkCellModel(model: CellModel): void {
  requirePositive('capacityAh', model.capacityAh);
  requireAscending('soc', model.soc, 2);
  requireAscending('temperatureC', model.temperatureC, 1);
  const points = model.soc.length * model.temperatureC.length;
  requireTable('r0Ohm', model.r0Ohm, points, true);
  model.branches.forEach((branch, j) => {
    requireTable(`branches[${j}].rOhm`, branch.rOhm, points, false);
    requireTable(`branches[${j}].tauS`, branch.tauS, points, true);
    const negative = branch.rOhm.findIndex((value) => value < 0);
    if (negative >= 0)
      throw new RangeError(
        `branches[${j}].rOhm[${negative}] is ${branch.rOhm[negative]}; it must not be negative`,
      );
  });
  if (model.entropicVPerK !== null) requireTable('entropicVPerK', model.entropicVPerK, points, false);
  if (model.arrhenius !== null && model.temperatureC.length > 1)
    throw new RangeError(
      'arrhenius is for tables at one temperature; these have several, which say it themselves',
    );
  if (model.thermal !== null) {
    requirePositive('thermal.heatCapacityJPerK', model.thermal.heatCapacityJPerK);
    const transfer = model.thermal.heatTransferWPerK;
    if (!(transfer >= 0 && Number.isFinite(transfer)))
      throw new RangeError(`thermal.heatTransferWPerK is ${transfer}; it must be 0 or more`);
  }
}

function requirePositive(name: string, value: number): void {
  if (!(value > 0 && Number.isFinite(value))) throw new RangeError(`${name} is ${value}; it must be above 0`);
}

function requireAscending(name: string, grid: Float64Array, atLeast: number): void {
  if (grid.length < atLeast)
    throw new RangeError(`${name} has ${grid.length} values; at least ${atLeast} are needed`);
  for (let i = 0; i < grid.length; i++) {
    if (!Number.isFinite(grid[i]))
      throw new RangeError(`${name}[${i}] is ${grid[i]}; it must be a finite number`);
    if (i > 0 && grid[i] <= grid[i - 1])
      throw new RangeError(
        `${name}[${i}] is ${grid[i]}, not above ${grid[i - 1]} before it; the grid must ascend`,
      );
  }
}

function requireTable(name: string, values: Float64Array, points: number, positive: boolean): void {
  if (values.length !== points)
    throw new RangeError(`${name} has ${values.length} values; the grid has ${points} points`);
  const bad = values.findIndex((value) => !Number.isFinite(value) || (positive && value <= 0));
  if (bad >= 0)
    throw new RangeError(
      `${name}[${bad}] is ${values[bad]}; it must be ${positive ? 'above 0' : 'a finite number'}`,
    );
}
