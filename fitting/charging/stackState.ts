import { ZERO_CELSIUS_K } from '../numeric/index.ts';
import { BRANCH, type CompiledCell, ENTROPIC, OCV, R0 } from './cellModel.ts';
import { type ControlLaw, currentUnderSupply } from './controlLaw.ts';

/** Bypass of a cell in force: the cell's current is stack current − drawA − conductanceS × V. */
export interface ActiveBypass {
  drawA: number;
  conductanceS: number;
}

/** Distance in SOC at which a cell counts as being on a grid point; switches are located far closer. */
const ON_GRID = 1e-11;

/**
 * The state of a series stack (SOC, temperature, branch voltages of each cell, and the stretches of the tables they lie
 * in) and, for the step that begins at it, the values at the four nodes. Node arrays hold four values from index
 * 4 × cell: node 0 is the start of the step, node 3 its end.
 */
export class StackState {
  readonly cells: readonly CompiledCell[];
  /** Places for branch voltages per cell: the largest branch count. */
  readonly branches: number;
  readonly ambientC: number;
  readonly soc: Float64Array;
  readonly temperatureC: Float64Array;
  /** Branch voltages at index cell × branches + j. */
  readonly branchV: Float64Array;
  readonly socStretch: Int32Array;
  readonly temperatureStretch: Int32Array;
  readonly bypass: readonly ActiveBypass[];
  readonly nodeSoc: Float64Array;
  readonly nodeTemperatureC: Float64Array;
  readonly nodeVoltageV: Float64Array;
  readonly nodeOcvV: Float64Array;
  readonly nodeCurrentA: Float64Array;
  readonly nodeHeatW: Float64Array;
  readonly nodeReversibleW: Float64Array;
  /** Four values from index 4 × (cell × branches + j). */
  readonly nodeBranchV: Float64Array;
  /** Stack current and sum of the cell voltages at the four nodes. */
  readonly stackA = new Float64Array(4);
  readonly stackV = new Float64Array(4);
  /** Parameters of each cell at the four nodes, `stride` values each. */
  readonly parameters: readonly Float64Array[];
  /** V_k = offset_k + slope_k × I for a sudden stack current I at the present state. */
  readonly offsetV: Float64Array;
  readonly slopeOhm: Float64Array;

  constructor(cells: readonly CompiledCell[], ambientC: number) {
    const n = cells.length;
    const m = cells.reduce((most, cell) => Math.max(most, cell.branchCount), 0);
    const node = () => new Float64Array(4 * n);
    this.cells = cells;
    this.branches = m;
    this.ambientC = ambientC;
    this.soc = new Float64Array(n);
    this.temperatureC = new Float64Array(n);
    this.branchV = new Float64Array(n * m);
    this.socStretch = new Int32Array(n);
    this.temperatureStretch = new Int32Array(n);
    this.bypass = cells.map(() => ({ drawA: 0, conductanceS: 0 }));
    this.nodeSoc = node();
    this.nodeTemperatureC = node();
    this.nodeVoltageV = node();
    this.nodeOcvV = node();
    this.nodeCurrentA = node();
    this.nodeHeatW = node();
    this.nodeReversibleW = node();
    this.nodeBranchV = new Float64Array(4 * n * m);
    this.parameters = cells.map((cell) => new Float64Array(4 * cell.stride));
    this.offsetV = new Float64Array(n);
    this.slopeOhm = new Float64Array(n);
  }

  /** Puts a cell at a SOC and temperature with its branches relaxed. */
  place(cell: number, soc: number, temperatureC: number): void {
    this.soc[cell] = soc;
    this.temperatureC[cell] = temperatureC;
    this.branchV.fill(0, cell * this.branches, (cell + 1) * this.branches);
    this.socStretch[cell] = this.cells[cell].socStretch(soc);
    this.temperatureStretch[cell] = this.cells[cell].temperatureStretch(temperatureC);
  }

  /** Reads the parameters at the present state and from them the sudden response to a stack current. */
  readParameters(): void {
    for (let k = 0; k < this.cells.length; k++) {
      const p = this.parameters[k];
      this.cells[k].evaluate(
        this.soc[k],
        this.temperatureC[k],
        this.socStretch[k],
        this.temperatureStretch[k],
        p,
        0,
      );
      let inner = p[OCV];
      for (let j = 0; j < this.cells[k].branchCount; j++) inner += this.branchV[k * this.branches + j];
      const { drawA, conductanceS } = this.bypass[k];
      const share = 1 / (1 + conductanceS * p[R0]);
      this.offsetV[k] = (inner - p[R0] * drawA) * share;
      this.slopeOhm[k] = p[R0] * share;
    }
  }

  /**
   * Stack current that a law asks for at the present state; call `readParameters` first. Negative where a voltage law would
   * discharge.
   */
  currentUnder(law: ControlLaw): number {
    if (law.kind === 'current') return law.currentA;
    let offset = 0;
    let slope = 0;
    for (let k = 0; k < this.cells.length; k++) {
      const weight = law.kind === 'supply' ? 1 : law.weights[k];
      offset += weight * this.offsetV[k];
      slope += weight * this.slopeOhm[k];
    }
    return law.kind === 'supply'
      ? currentUnderSupply(law, offset, slope)
      : (law.targetV - offset) / (slope + law.seriesOhm);
  }

  /** Fills node 0 of every array for a stack current that starts now; call `readParameters` first. */
  startNode(stackA: number): void {
    this.stackA[0] = stackA;
    let sum = 0;
    for (let k = 0; k < this.cells.length; k++) {
      const voltage = this.offsetV[k] + this.slopeOhm[k] * stackA;
      const at = 4 * k;
      this.nodeSoc[at] = this.soc[k];
      this.nodeTemperatureC[at] = this.temperatureC[k];
      this.nodeVoltageV[at] = voltage;
      this.nodeOcvV[at] = this.parameters[k][OCV];
      this.nodeCurrentA[at] = stackA - this.bypass[k].drawA - this.bypass[k].conductanceS * voltage;
      for (let j = 0; j < this.branches; j++)
        this.nodeBranchV[4 * (k * this.branches + j)] = this.branchV[k * this.branches + j];
      this.heatAtNode(k, 0);
      sum += voltage;
    }
    this.stackV[0] = sum;
  }

  /** Heat of a node from its voltage, current and temperature. */
  heatAtNode(k: number, a: number): void {
    const at = 4 * k + a;
    const i = this.nodeCurrentA[at];
    const dudt = this.parameters[k][a * this.cells[k].stride + ENTROPIC];
    const reversible = dudt === 0 ? 0 : i * (this.nodeTemperatureC[at] + ZERO_CELSIUS_K) * dudt;
    this.nodeReversibleW[at] = reversible;
    this.nodeHeatW[at] = i * (this.nodeVoltageV[at] - this.nodeOcvV[at]) + reversible;
  }

  /** Takes the end of the tried step as the new state. */
  accept(): void {
    for (let k = 0; k < this.cells.length; k++) {
      this.soc[k] = this.nodeSoc[4 * k + 3];
      this.temperatureC[k] = this.nodeTemperatureC[4 * k + 3];
      for (let j = 0; j < this.branches; j++)
        this.branchV[k * this.branches + j] = this.nodeBranchV[4 * (k * this.branches + j) + 3];
    }
  }

  /** A cell that has come to a point of its SOC grid is put on it and into the stretch that its current leads to. */
  moveOnGrid(): void {
    for (let k = 0; k < this.cells.length; k++) {
      const grid = this.cells[k].model.soc;
      const current = this.nodeCurrentA[4 * k + 3];
      const s = this.socStretch[k];
      if (current > 0 && s + 1 < grid.length && grid[s + 1] - this.soc[k] <= ON_GRID) {
        this.soc[k] = grid[s + 1];
        this.socStretch[k] = s + 1;
      } else if (current < 0 && s >= 0 && this.soc[k] - grid[s] <= ON_GRID) {
        this.soc[k] = grid[s];
        this.socStretch[k] = s - 1;
      }
    }
  }

  /** R_j / tau_j and 1 / tau_j of a branch at a node: index of the first, the second follows. */
  branchAt(k: number, a: number, j: number): number {
    return a * this.cells[k].stride + BRANCH + 2 * j;
  }
}
