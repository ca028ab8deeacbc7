import type { ChargeController } from './chargeController.ts';
import { firstCrossing } from './crossing.ts';
import { OperatingPoints } from './operatingPoints.ts';
import { NO_POWER, type PowerFlow, powerFlow } from './powerFlow.ts';
import type { StackState } from './stackState.ts';

/** Columns of a simulated charge. */
export interface ChargeSeries {
  readonly timeS: number[];
  readonly currentA: number[];
  readonly stackVoltageV: number[];
  readonly busVoltageV: number[] | null;
  readonly busCurrentA: number[] | null;
  /** The source's setting for the bus voltage: its next step upwards. */
  readonly busSetVoltageV: number[] | null;
  readonly power: { readonly [P in keyof PowerFlow]: number[] };
  readonly cells: readonly {
    readonly voltageV: number[];
    readonly currentA: number[];
    readonly soc: number[];
    readonly temperatureC: number[];
    /** One column per RC branch. */
    readonly branchV: readonly number[][];
  }[];
}

/** Distance from the edge of a table, in SOC or K, that is rounding of the steps. */
const EDGE = 1e-6;

/** Whether a value lies beyond the ends of an ascending grid. */
function isBeyond(grid: Float64Array, value: number): boolean {
  return value < grid[0] - EDGE || value > grid[grid.length - 1] + EDGE;
}

/** Watches the steps: times at SOC, peaks, time above the datasheet's voltage, use beyond the tables, the series. */
export class ChargeObserver {
  readonly peakVoltageV: Float64Array;
  readonly peakVoltageTimeS: Float64Array;
  readonly peakTemperatureC: Float64Array;
  readonly overvoltageDurationS: Float64Array;
  readonly temperatureOutside: boolean[];
  readonly socOutside: boolean[];
  /** Time at which the last cell reached each of `setup.timesAtSoc`; NaN until then. */
  readonly reachedS: Float64Array;
  /** SOC of a cell when it first held the current at its voltage limit. */
  socAtVoltageLimit: number | null = null;
  readonly series: ChargeSeries | null;
  private readonly state: StackState;
  private readonly controller: ChargeController;
  readonly points: OperatingPoints;
  private readonly flow: PowerFlow = { ...NO_POWER };

  constructor(state: StackState, controller: ChargeController) {
    const n = state.cells.length;
    const { setup } = controller;
    this.state = state;
    this.controller = controller;
    this.points = new OperatingPoints(state, controller);
    this.peakVoltageV = new Float64Array(n).fill(Number.NEGATIVE_INFINITY);
    this.peakVoltageTimeS = new Float64Array(n);
    this.peakTemperatureC = Float64Array.from(state.temperatureC);
    this.overvoltageDurationS = new Float64Array(n);
    this.temperatureOutside = state.cells.map(() => false);
    this.socOutside = state.cells.map(() => false);
    this.reachedS = new Float64Array(setup.timesAtSoc.length).fill(Number.NaN);
    const lowest = state.soc.reduce((least, z) => Math.min(least, z), 1);
    setup.timesAtSoc.forEach((soc, s) => {
      if (lowest >= soc) this.reachedS[s] = 0;
    });
    const bus = () => (setup.supply === null ? null : []);
    this.series =
      setup.seriesStepS === null
        ? null
        : {
            timeS: [],
            currentA: [],
            stackVoltageV: [],
            busVoltageV: bus(),
            busCurrentA: bus(),
            busSetVoltageV: bus(),
            power: {
              sourceW: [],
              cableLossW: [],
              converterLossW: [],
              stackResistanceLossW: [],
              cellLossW: [],
              bypassLossW: [],
              storedW: [],
              reversibleHeatW: [],
            },
            cells: state.cells.map((cell) => ({
              voltageV: [],
              currentA: [],
              soc: [],
              temperatureC: [],
              branchV: Array.from({ length: cell.branchCount }, (): number[] => []),
            })),
          };
  }

  /** Looks at the step of `h` seconds from `startS` whose nodes are filled; call before the state moves on. */
  watch(startS: number, h: number): void {
    const { state, controller } = this;
    for (let k = 0; k < state.cells.length; k++) {
      const at = 4 * k;
      for (let a = 0; a < 4; a += 3) {
        if (state.nodeVoltageV[at + a] > this.peakVoltageV[k]) {
          this.peakVoltageV[k] = state.nodeVoltageV[at + a];
          this.peakVoltageTimeS[k] = a === 0 ? startS : startS + h;
        }
      }
      for (let a = 1; a < 4; a++)
        this.peakTemperatureC[k] = Math.max(this.peakTemperatureC[k], state.nodeTemperatureC[at + a]);
      this.addOvervoltage(k, h, controller.setup.cells[k].datasheetVoltageV);
      this.noteOutside(k);
    }
    this.noteTimes(startS, h);
    this.points.watch(startS, h);
  }

  /** Adds a row with the values at node 0 or 3 of the present step. */
  row(timeS: number, a: 0 | 3): void {
    const { series, state, controller } = this;
    if (series === null || series.timeS.at(-1) === timeS) return;
    series.timeS.push(timeS);
    series.currentA.push(state.stackA[a]);
    series.stackVoltageV.push(state.stackV[a]);
    series.cells.forEach((columns, k) => {
      columns.voltageV.push(state.nodeVoltageV[4 * k + a]);
      columns.currentA.push(state.nodeCurrentA[4 * k + a]);
      columns.soc.push(state.nodeSoc[4 * k + a]);
      columns.temperatureC.push(state.nodeTemperatureC[4 * k + a]);
      columns.branchV.forEach((column, j) => {
        column.push(state.nodeBranchV[4 * (k * state.branches + j) + a]);
      });
    });
    powerFlow(state, controller, a, this.flow);
    for (const name of Object.keys(series.power) as (keyof PowerFlow)[])
      series.power[name].push(this.flow[name]);
    const { supply } = controller;
    if (supply === null) return;
    const bus = { sourceV: 0, converterV: 0, currentA: 0 };
    supply.bus(controller.mode, Math.max(state.stackA[a], 0), state.stackV[a], bus);
    series.busVoltageV?.push(bus.sourceV);
    series.busCurrentA?.push(bus.currentA);
    series.busSetVoltageV?.push(supply.setVoltage(bus.sourceV));
  }

  /** The charge has never begun: what was noted of its start is that of cells without a current. */
  neverBegan(): void {
    const { series, state } = this;
    state.readParameters();
    state.startNode(0);
    if (series === null) return;
    for (const column of [series.timeS, series.currentA, series.stackVoltageV]) column.length = 0;
    for (const column of [series.busVoltageV, series.busCurrentA, series.busSetVoltageV])
      if (column !== null) column.length = 0;
    for (const column of Object.values(series.power)) column.length = 0;
    for (const { voltageV, currentA, soc, temperatureC, branchV } of series.cells)
      for (const column of [voltageV, currentA, soc, temperatureC, ...branchV]) column.length = 0;
    this.row(0, 0);
  }

  private addOvervoltage(k: number, h: number, limitV: number): void {
    const v = this.state.nodeVoltageV;
    const at = 4 * k;
    const above = (value: number) => value > limitV + 1e-7;
    if (above(v[at]) && above(v[at + 3])) this.overvoltageDurationS[k] += h;
    else if (above(v[at + 3]))
      this.overvoltageDurationS[k] += h * (1 - firstCrossing(v, at, limitV, 1, 1e-7));
    else if (above(v[at])) this.overvoltageDurationS[k] += h * firstCrossing(v, at, limitV, -1, 1e-7);
  }

  private noteOutside(k: number): void {
    const { state } = this;
    const cell = state.cells[k];
    // The exact edge of a table is measured; only what lies beyond it is held there.
    const { soc, temperatureC } = cell.model;
    if (isBeyond(soc, state.soc[k])) this.socOutside[k] = true;
    if (temperatureC.length > 1 && isBeyond(temperatureC, state.temperatureC[k]))
      this.temperatureOutside[k] = true;
  }

  private noteTimes(startS: number, h: number): void {
    const { state, controller } = this;
    controller.setup.timesAtSoc.forEach((soc, s) => {
      if (!Number.isNaN(this.reachedS[s])) return;
      let latest = 0;
      for (let k = 0; k < state.cells.length; k++) {
        const end = state.nodeSoc[4 * k + 3];
        if (end < soc - 1e-12) return;
        const fraction = firstCrossing(state.nodeSoc, 4 * k, soc, 1, 0);
        latest = Math.max(latest, fraction < 0 ? 1 : fraction);
      }
      this.reachedS[s] = startS + latest * h;
    });
  }
}
