import { type Binding, type EndReason, type LimitName, type MetLimit, winsTie } from './chargeBinding.ts';
import type { BypassModel, ChargeSetup } from './chargeSetup.ts';
import type { ControlLaw } from './controlLaw.ts';
import type { StackState } from './stackState.ts';
import type { ConverterMode } from './supply.ts';
import { type SupplyLaw, SupplyModel } from './supplyModel.ts';
import {
  type AxisZone,
  fillAxis,
  jointAxis,
  LEAST_HYSTERESIS_K,
  OWN_COOLING_K,
  zoneAt,
  zoneExits,
} from './temperatureZones.ts';

const IDLE: Binding = { law: { kind: 'current', currentA: 0 }, limit: 'rest', cell: null, path: null };

/**
 * The discrete side of a charge: phase, stage, temperature zone of each cell, bypasses, converter mode. The charger's
 * rule is the same always: of all currents that the limits allow at this moment, the smallest flows.
 */
export class ChargeController {
  readonly setup: ChargeSetup;
  phase: 'precharge' | 'charge' | 'rest';
  stage = 0;
  mode: ConverterMode = 'none';
  end: EndReason | null = null;
  binding: Binding;
  /** Current command: the smallest of the limits that are plain currents. */
  command: Binding;
  /** Laws of the supply that depend on the stack voltage, in the present mode. */
  supplyLaws: readonly SupplyLaw[] = [];
  /** Zones of each cell over the whole temperature axis; null for one without. */
  readonly axes: readonly (readonly AxisZone[] | null)[];
  readonly zone: Int32Array;
  readonly zoneUpC: Float64Array;
  readonly zoneDownC: Float64Array;
  readonly bypassOn: boolean[];
  /** Voltage limit of each cell in its present zone. */
  readonly limitV: Float64Array;
  /** The supply as a chain of models; null without one. */
  readonly supply: SupplyModel | null;
  /**
   * While a law of the supply holds the current through the fixed ratio: the current that the regulator would give, at or
   * below which it takes over; 0 without one.
   */
  regulatorOfferA = 0;
  readonly minTemperatureC: number;
  readonly maxTemperatureC: number;
  private steppedCapA = Number.POSITIVE_INFINITY;
  private steppedCell = 0;
  private regulatorToTheEnd = false;
  /** Cell whose zone allows less than its voltage, until it leaves that zone. */
  private pausedCell: number | null = null;
  private readonly voltageLaws: ControlLaw[];
  private readonly stackLaw: ControlLaw;
  private readonly state: StackState;

  constructor(setup: ChargeSetup, state: StackState) {
    const n = setup.cells.length;
    this.setup = setup;
    this.state = state;
    this.phase = setup.precharge === null ? 'charge' : 'precharge';
    const own = setup.zones === null ? null : fillAxis(setup.zones);
    this.axes = setup.cells.map(({ datasheetZones }) => {
      const datasheet = datasheetZones === null ? null : fillAxis(datasheetZones);
      return own === null || datasheet === null ? (own ?? datasheet) : jointAxis(own, datasheet);
    });
    this.zone = new Int32Array(n);
    this.zoneUpC = new Float64Array(n).fill(Number.POSITIVE_INFINITY);
    this.zoneDownC = new Float64Array(n).fill(Number.NEGATIVE_INFINITY);
    this.bypassOn = setup.cells.map(() => false);
    this.limitV = Float64Array.from(setup.cells, (cell) => cell.voltageLimitV);
    this.minTemperatureC = Math.max(...setup.cells.map((c) => c.minTemperatureC ?? Number.NEGATIVE_INFINITY));
    this.maxTemperatureC = Math.min(...setup.cells.map((c) => c.maxTemperatureC ?? Number.POSITIVE_INFINITY));
    this.voltageLaws = setup.cells.map((_, k) => this.cellLaw(k));
    const ones = new Float64Array(n).fill(1);
    const { toSenseOhm, beyondSenseOhm } = setup.stackResistance;
    this.stackLaw = {
      kind: 'voltage',
      weights: ones,
      seriesOhm: beyondSenseOhm,
      targetV: setup.stackVoltageLimitV,
    };
    this.supply = setup.supply === null ? null : new SupplyModel(setup.supply, toSenseOhm + beyondSenseOhm);
    this.binding = IDLE;
    this.command = IDLE;
    this.axes.forEach((axis, k) => {
      this.enterZone(k, axis === null ? 0 : zoneAt(axis, state.temperatureC[k]));
    });
    this.checkWindow();
  }

  /** Decides from the present state what binds; `met` is the limit just met, which wins where two allow the same current. */
  choose(met: MetLimit | null): void {
    const { state } = this;
    this.applyBypasses();
    state.readParameters();
    if (this.phase === 'rest') {
      this.binding = IDLE;
      this.command = IDLE;
      return;
    }
    if (this.pausedCell !== null) {
      const law = { kind: 'current', currentA: 0 } as const;
      this.binding = { law, limit: 'zone-voltage', cell: this.pausedCell, path: null };
      this.command = this.binding;
      return;
    }
    this.chooseMode();
    const { best, least } = this.smallest(met);
    this.binding = best;
    this.regulatorOfferA = this.offerOfRegulator(best);
    if (this.regulatorOfferA > 0 && least <= this.regulatorOfferA) {
      this.keepRegulator();
      this.choose(met);
      return;
    }
    this.endOrPause(least);
  }

  /** The limit that allows the least current in the present mode, with that current; sets the current command. */
  private smallest(met: MetLimit | null): { best: Binding; least: number } {
    const { state } = this;
    this.command = this.currentCommand();
    let best = this.command;
    let least = state.currentUnder(best.law);
    for (const candidate of this.voltageBindings()) {
      const current = state.currentUnder(candidate.law);
      const tie = Math.abs(current - least) <= 1e-7 * Math.abs(least) + 1e-12;
      if (tie ? winsTie(candidate, best, met) : current < least) {
        best = candidate;
        least = Math.min(current, least);
      }
    }
    return { best, least };
  }

  /** What the regulator would give in place of the fixed ratio that the supply holds down; 0 where it cannot. */
  private offerOfRegulator(binding: Binding): number {
    const { supply, mode } = this;
    const { regulator } = this.setup.supply ?? { regulator: null };
    if (supply === null || regulator === null || mode !== 'ratio' || binding.law.kind !== 'supply') return 0;
    const least = (mode: ConverterMode) =>
      supply
        .laws(mode)
        .reduce(
          (lowest, { law }) => Math.min(lowest, this.state.currentUnder(law)),
          Math.min(...supply.caps(mode).map((cap) => cap.currentA)),
        );
    const asked = this.setup.stages[Math.min(this.stage, this.setup.stages.length - 1)].currentA;
    const offerA = Math.min(asked, least('regulator'));
    return this.regulatorCanGive(offerA) ? offerA : 0;
  }

  /** True where the input of the regulator lies on the right side of its output, by its headroom. */
  private regulatorCanGive(currentA: number): boolean {
    const { regulator } = this.setup.supply ?? { regulator: null };
    if (regulator === null) return false;
    const { toSenseOhm, beyondSenseOhm } = this.setup.stackResistance;
    let outputV = (toSenseOhm + beyondSenseOhm) * currentA;
    this.state.offsetV.forEach((offset, k) => {
      outputV += offset + this.state.slopeOhm[k] * currentA;
    });
    const { kind, inputVoltageV, headroomV } = regulator;
    if (kind === 'step-down') return outputV <= inputVoltageV - headroomV;
    return kind === 'step-up-down' || outputV >= inputVoltageV + headroomV;
  }

  /** Temperature of a cell below which it is charged no more. */
  get tooColdC(): number {
    const { minTemperatureC } = this;
    return this.setup.ambientTemperatureC >= minTemperatureC
      ? minTemperatureC - OWN_COOLING_K
      : minTemperatureC;
  }

  /** Takes up the zone of a cell after its temperature has crossed an edge upwards (+1) or downwards (−1). */
  changeZone(k: number, direction: 1 | -1): void {
    if (this.pausedCell === k) this.pausedCell = null;
    this.enterZone(k, this.zone[k] + direction);
  }

  /** The next stage, or the main phase after a precharge. */
  advance(): void {
    if (this.phase === 'precharge') this.phase = 'charge';
    else this.stage += 1;
  }

  /** In a stepped taper: one current step of the supply less, because cell `k` has met its limit. */
  stepDown(k: number): void {
    const { supply } = this;
    if (supply === null) return;
    const present = this.binding.law.kind === 'current' ? this.binding.law.currentA : this.state.stackA[0];
    // At least one step less, and no more than the cell takes at its limit now (a zone may have lowered that at once).
    const atLimit = Math.max(this.state.currentUnder(this.voltageLaws[k]), 0);
    this.steppedCapA = Math.min(supply.stepBelow(present), supply.downToSet(atLimit));
    this.steppedCell = k;
    if (this.steppedCapA < this.setup.endCurrentA) this.end = 'end-current';
  }

  /** The regulator takes over for the rest of the charge. */
  keepRegulator(): void {
    this.regulatorToTheEnd = true;
  }

  get inRegulatorToTheEnd(): boolean {
    return this.regulatorToTheEnd;
  }

  /** True while a law of the supply fixes the current. */
  get holdsSupplyLaw(): boolean {
    return this.binding.law.kind === 'supply';
  }

  /**
   * Net current into the cells at or below which the charge is over although the charger's current is not at the end
   * current, because bypasses at every cell hold it up; null where that is not so. It is the end current where every bypass
   * takes at least as much (a smaller one lets the charger's own current fall to it), else zero at a plain current: nothing is
   * charged any more. Before the last stage only a held voltage counts, since a later stage may ask for more; a current that a
   * temperature zone holds down is not the end.
   */
  get netEndCurrentA(): number | null {
    const { bypass } = this.state;
    let least = Number.POSITIVE_INFINITY;
    for (let k = 0; k < bypass.length; k++) {
      least = Math.min(least, bypass[k].drawA + bypass[k].conductanceS * this.limitV[k]);
      if (least === 0) return null;
    }
    const { endCurrentA, stages } = this.setup;
    const { law, limit } = this.binding;
    const byZone = limit === 'zone-current' || limit === 'zone-no-charge' || this.pausedCell !== null;
    if (this.phase !== 'charge' || byZone) return null;
    if (law.kind === 'current' && this.stage < stages.length - 1) return null;
    if (least >= endCurrentA) return endCurrentA;
    return law.kind === 'current' ? 0 : null;
  }

  /** True while a temperature zone whose voltage lies below that of a cell holds the charge. */
  get pausedByVoltage(): boolean {
    return this.pausedCell !== null;
  }

  get stepped(): boolean {
    return this.setup.taper === 'stepped';
  }

  /** Cell limits that hold the current (not in a stepped taper, where meeting one lowers the current command). */
  private voltageBindings(): Binding[] {
    const bindings: Binding[] = [];
    if (this.setup.watch === 'stack-only')
      bindings.push({ law: this.stackLaw, limit: 'stack-voltage', cell: null, path: null });
    else if (!this.stepped) {
      for (let k = 0; k < this.voltageLaws.length; k++)
        bindings.push({ law: this.voltageLaws[k], limit: this.voltageLimitName(k), cell: k, path: null });
    }
    for (const { law, limit } of this.supplyLaws) bindings.push({ law, limit, cell: null, path: null });
    return bindings;
  }

  voltageLimitName(k: number): 'cell-voltage' | 'zone-voltage' {
    return this.limitV[k] < this.setup.cells[k].voltageLimitV ? 'zone-voltage' : 'cell-voltage';
  }

  private currentCommand(): Binding {
    const { setup, axes } = this;
    let limit: LimitName = this.phase === 'precharge' ? 'precharge-current' : 'stage-current';
    let cell: number | null = null;
    let path: number | null = null;
    let currentA =
      this.phase === 'precharge' && setup.precharge !== null
        ? setup.precharge.currentA
        : setup.stages[Math.min(this.stage, setup.stages.length - 1)].currentA;
    const lower = (name: LimitName, value: number, k: number | null, p: number | null = null) => {
      if (value >= currentA) return;
      limit = name;
      currentA = value;
      cell = k;
      path = p;
    };
    setup.cells.forEach((charged, k) => {
      lower('cell-rating', charged.ratedCurrentA, k);
      const zone = axes[k]?.[this.zone[k]];
      if (zone !== undefined && !zone.charge) lower('zone-no-charge', 0, k);
      else if (zone?.maxCurrentA != null) lower('zone-current', zone.maxCurrentA, k);
    });
    if (this.supply !== null) {
      for (const cap of this.supply.caps(this.mode)) lower(cap.limit, cap.currentA, null, cap.path);
      currentA = this.supply.settable(this.mode, currentA);
    }
    lower('cell-voltage', this.steppedCapA, this.steppedCell);
    return { law: { kind: 'current', currentA }, limit, cell, path };
  }

  private chooseMode(): void {
    const { supply } = this;
    if (supply === null) return;
    const before = this.mode;
    this.mode = this.modeFor(supply);
    if (this.mode !== before) this.supplyLaws = supply.laws(this.mode);
  }

  /** Stack voltage from which on the fixed ratio works: its own least, and that which the source can still be set to. */
  get ratioFromStackV(): number {
    const { supply } = this;
    if (supply === null) return 0;
    return Math.max(supply.supply.ratioStage?.minStackVoltageV ?? 0, supply.lowestV / supply.stage.ratio);
  }

  private modeFor({ supply }: SupplyModel): ConverterMode {
    if (supply.regulator === null) return 'ratio';
    if (supply.ratioStage === null || this.phase === 'precharge' || this.regulatorToTheEnd)
      return 'regulator';
    if (this.mode === 'ratio') return 'ratio';
    const least = this.ratioFromStackV - 1e-9;
    return this.openStackVoltage() >= least || this.state.stackV[3] >= least ? 'ratio' : 'regulator';
  }

  private endOrPause(currentA: number): void {
    const { binding, setup } = this;
    const net = this.netEndCurrentA;
    // A pause (no current at all, for the temperature) is not the end of the charge.
    if (net !== null && currentA > setup.endCurrentA) {
      const cells = this.state.bypass.map(({ drawA, conductanceS }, k) => {
        const voltageV = this.state.offsetV[k] + this.state.slopeOhm[k] * currentA;
        return currentA - drawA - conductanceS * voltageV;
      });
      if (Math.max(...cells) <= net) this.end = 'bypass-exceeds-end-current';
    }
    const tooHigh = this.busTooHigh(currentA);
    if (tooHigh) this.end = 'bus-voltage-too-high';
    if (binding.law.kind === 'current' || tooHigh) return;
    const least = this.phase === 'charge' ? setup.endCurrentA * (1 + 1e-12) : 0;
    if (currentA <= least) this.meetEndCurrent();
  }

  /**
   * The current has fallen to the end current under the present law. That ends the charge, except at the voltage of a
   * temperature zone that the cell will leave by cooling or warming to its surroundings: there it pauses until it has.
   */
  meetEndCurrent(): void {
    const { law, limit, cell } = this.binding;
    if (law.kind === 'supply')
      this.end = limit === 'source-voltage' ? 'bus-voltage-too-low' : 'supply-below-end-current';
    else if (limit !== 'zone-voltage' || cell === null) this.end = 'end-current';
    else if (this.willLeaveZone(cell)) {
      this.pausedCell = cell;
      this.choose(null);
    } else this.end = 'zone-voltage-reached';
  }

  private willLeaveZone(k: number): boolean {
    const { ambientTemperatureC: ambientC, cells } = this.setup;
    if (!((cells[k].cell.model.thermal?.heatTransferWPerK ?? 0) > 0)) return false;
    return ambientC < this.zoneDownC[k] || ambientC > this.zoneUpC[k];
  }

  /** True where the bus would have to be lower than the source can be set; with a regulator the fixed ratio is not used there. */
  private busTooHigh(currentA: number): boolean {
    const { supply, mode, state } = this;
    if (supply === null || mode !== 'ratio' || !(currentA > 0) || supply.lowestV === 0) return false;
    let cellsV = 0;
    for (let k = 0; k < state.cells.length; k++) cellsV += state.offsetV[k] + state.slopeOhm[k] * currentA;
    const bus = { sourceV: 0, converterV: 0, currentA: 0 };
    supply.bus(mode, currentA, cellsV, bus);
    return bus.sourceV < supply.lowestV * (1 - 1e-9);
  }

  private applyBypasses(): void {
    const resting = this.phase === 'rest';
    this.setup.cells.forEach((charged, k) => {
      const active = this.bypassOn[k] && charged.bypass !== null && (!resting || charged.bypass.atRest);
      const model: BypassModel | null = active ? charged.bypass : null;
      this.state.bypass[k].drawA = model?.kind === 'current' ? model.value : 0;
      this.state.bypass[k].conductanceS = model?.kind === 'resistor' ? 1 / model.value : 0;
    });
  }

  private enterZone(k: number, index: number): void {
    const axis = this.axes[k];
    if (axis === null) return;
    this.zone[k] = index;
    const { zoneHysteresisK, ambientTemperatureC } = this.setup;
    const { upC, downC } = zoneExits(axis, index, Math.max(zoneHysteresisK, LEAST_HYSTERESIS_K));
    const gapBelow = axis[index].charge && axis[index - 1]?.charge === false;
    this.zoneUpC[k] = upC;
    this.zoneDownC[k] = gapBelow && ambientTemperatureC >= downC ? downC - OWN_COOLING_K : downC;
    const general = this.setup.cells[k].voltageLimitV;
    this.limitV[k] = Math.min(general, axis[index].maxVoltageV ?? general);
    this.voltageLaws[k] = this.cellLaw(k);
  }

  private cellLaw(k: number): ControlLaw {
    const weights = new Float64Array(this.setup.cells.length);
    weights[k] = 1;
    const seriesOhm = this.setup.stackResistance.beyondSenseOhm / this.setup.cells.length;
    return { kind: 'voltage', weights, seriesOhm, targetV: this.limitV[k] };
  }

  /** Outside the window nothing is charged at all: not a small current, none. */
  private checkWindow(): void {
    const { state, axes } = this;
    for (let k = 0; k < state.cells.length; k++) {
      const t = state.temperatureC[k];
      const outside = t < this.minTemperatureC || t > this.maxTemperatureC;
      if (outside || axes[k]?.[this.zone[k]].charge === false) this.end = 'outside-temperature-window';
    }
    const { supply } = this;
    if (supply === null || supply.supply.regulator !== null) return;
    this.state.readParameters();
    const bus = { sourceV: 0, converterV: 0, currentA: 0 };
    supply.bus('ratio', 0, this.openStackVoltage(), bus);
    if (bus.sourceV >= supply.highestV)
      throw new RangeError(
        `bus voltage too low: source.maxVoltageV ${supply.supply.source.maxVoltageV} gives at most ${supply.highestV} V, and the ` +
          `stack needs more than ${bus.sourceV.toFixed(3)} V at the source (ratio ${supply.stage.ratio})`,
      );
  }

  private openStackVoltage(): number {
    return this.state.offsetV.reduce((sum, value) => sum + value, 0);
  }
}
