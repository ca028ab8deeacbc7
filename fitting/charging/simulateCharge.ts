import { ChargeController, type EndReason, type MetLimit } from './chargeController.ts';
import { ChargeEvents, type FoundEvent } from './chargeEvents.ts';
import { ChargeObserver, type ChargeSeries } from './chargeObserver.ts';
import { type ChargeSetup, checkChargeSetup } from './chargeSetup.ts';
import { type ChargePhase, ChargeTimeline, type LimitStretch } from './chargeTimeline.ts';
import { type ChargeEnergy, EnergyLedger } from './energyLedger.ts';
import { cubicSlopeAt } from './exponentialWeights.ts';
import { StackState } from './stackState.ts';
import { StackStep } from './stackStep.ts';

export interface ChargedCellResult {
  readonly startSoc: number;
  readonly endSoc: number;
  readonly endVoltageV: number;
  readonly peakVoltageV: number;
  readonly peakVoltageTimeS: number;
  readonly endTemperatureC: number;
  readonly peakTemperatureC: number;
  /** Peak voltage above the datasheet's limit, 0 where it is not above. */
  readonly overvoltageV: number;
  readonly overvoltageDurationS: number;
  readonly bypassChargeAh: number;
  readonly temperatureOutsideTable: boolean;
  readonly socOutsideTable: boolean;
}

/** A computed charge. Times in seconds from its start. */
export interface SimulatedCharge {
  readonly phases: readonly ChargePhase[];
  /** Time at which the last cell reached each SOC of `setup.timesAtSoc`, null where it did not; 0 where it was there at the start. */
  readonly timesS: readonly (number | null)[];
  /** End of the charge itself, before any rest. */
  readonly endTimeS: number;
  readonly endReason: EndReason;
  readonly cells: readonly ChargedCellResult[];
  readonly energy: ChargeEnergy;
  readonly limits: readonly LimitStretch[];
  readonly socAtVoltageLimit: number | null;
  readonly series: ChargeSeries | null;
  readonly steps: number;
  readonly rejected: number;
}

const LARGEST_STEP_S = 900;
const SMALLEST_STEP_S = 1e-7;
const MAX_STEPS = 200_000;
/** A switch is placed to this time. */
const EVENT_TIME_S = 1e-9;
const MAX_STANDING = 20;
/** A switch that creeps up on its threshold may take this many tries; where it ends then is near enough. */
const MAX_LOCATIONS = 10;

/**
 * Simulates the charge of a stack of cells in series: precharge, stages, the taper on the limiting cell, temperature zones,
 * bypasses, and the limits of source, cable and converter. At every moment the smallest of all allowed currents flows; each
 * switch is located on the solution and the step made anew so that it ends there.
 *
 * @returns the charge; one that cannot begin (outside the temperature window) or does not finish says so in `endReason`.
 * @throws RangeError for a setup that makes no sense, naming field and value (see `checkChargeSetup`, `checkSupply`).
 */
export function simulateCharge(setup: ChargeSetup): SimulatedCharge {
  checkChargeSetup(setup);
  return new ChargeRun(setup).run();
}

class ChargeRun {
  private readonly setup: ChargeSetup;
  private readonly state: StackState;
  private readonly step: StackStep;
  private readonly controller: ChargeController;
  private readonly events: ChargeEvents;
  private readonly ledger: EnergyLedger;
  private readonly observer: ChargeObserver;
  private readonly timeline = new ChargeTimeline();
  private timeS = 0;
  private stageStartS = 0;
  private nextRow = 1;
  private suggestedS: number;
  /** Length of the step before where the present one goes on smoothly from it, else 0. */
  private previousS = 0;
  private readonly restartS: number;
  private steps = 0;
  private rejected = 0;
  /** Switches in a row that took no time: more than a few mean that two rules contradict each other. */
  private standing = 0;
  private endTimeS: number | null = null;
  private endReason: EndReason | null = null;
  private endStates: Pick<ChargedCellResult, 'endSoc' | 'endVoltageV' | 'endTemperatureC'>[] = [];

  constructor(setup: ChargeSetup) {
    const compiled = setup.cells.map((charged) => charged.cell);
    this.setup = setup;
    this.state = new StackState(compiled, setup.ambientTemperatureC);
    setup.cells.forEach((charged, k) => {
      this.state.place(k, charged.startSoc, charged.startTemperatureC);
    });
    this.step = new StackStep(this.state, setup.tolerance);
    this.controller = new ChargeController(setup, this.state);
    this.events = new ChargeEvents(this.state, this.controller);
    this.ledger = new EnergyLedger(this.state);
    this.observer = new ChargeObserver(this.state, this.controller);
    this.restartS = this.restartStep();
    this.suggestedS = this.restartS;
  }

  run(): SimulatedCharge {
    this.reconsider(null);
    if (this.observer.series !== null) this.observer.row(0, 0);
    while (this.endTimeS === null || this.controller.phase === 'rest') {
      if (this.controller.end !== null && this.controller.phase !== 'rest') {
        this.finishCharge(this.controller.end);
        continue;
      }
      if (this.controller.phase === 'rest' && this.timeS >= this.stageStartS + this.setup.restAfterS) break;
      if (!this.advance()) this.finishCharge('solver-stalled');
    }
    this.observer.row(this.timeS, 3);
    return this.result();
  }

  /** One accepted step and the switch at its end, if any. @returns false where no step can be made. */
  private advance(): boolean {
    const cap = this.nextFixedTime();
    const h = this.tryStep(cap - this.timeS);
    if (this.steps > MAX_STEPS) return false;
    if (h === null) return this.supplyFails(this.controller.holdsSupplyLaw);
    const event = this.events.first();
    const length = event === null ? h : this.locate(event, h);
    if (length > 0) this.take(length);
    if (event !== null) {
      this.standing = length > 0 ? 0 : this.standing + 1;
      if (this.standing > MAX_STANDING) return this.supplyFails(event.kind === 'supply-law');
      this.apply(event, length === 0);
    } else if (cap - this.timeS <= 1e-9 * Math.max(1, cap)) this.reachFixedTime(cap);
    return true;
  }

  /**
   * Two rules that contradict each other make the run stand still. Where one is a law of the supply there is no current
   * that the source can hold (its needed voltage falls as the current rises): the regulator takes over, or the charge ends.
   * @returns false where the cause is another.
   */
  private supplyFails(bySupply: boolean): boolean {
    if (!bySupply || this.controller.inRegulatorToTheEnd) return false;
    this.standing = 0;
    if (this.setup.supply?.regulator === null) this.controller.end = 'bus-voltage-too-low';
    else this.controller.keepRegulator();
    this.reconsider(null);
    return true;
  }

  private tryStep(longest: number): number | null {
    const { state, controller, step } = this;
    state.readParameters();
    const law = controller.binding.law;
    state.startNode(state.currentUnder(law));
    const wanted = Math.min(this.suggestedS, LARGEST_STEP_S);
    let h = Math.min(wanted, longest);
    if (h < longest && longest < 1.3 * h) h = longest;
    h = this.cutToGrid(h);
    let shortened = h < wanted;
    for (;;) {
      const error = step.attempt(h, law, this.previousS);
      if (error <= 1) {
        const growth = Math.min(5, 0.85 * error ** -0.25);
        const next = h * growth;
        this.suggestedS = shortened ? Math.max(wanted, next) : next;
        return h;
      }
      this.rejected += 1;
      shortened = false;
      h *= Number.isFinite(error) ? Math.max(0.15, 0.8 * error ** -0.25) : 0.15;
      this.suggestedS = h;
      if (h < SMALLEST_STEP_S) return null;
    }
  }

  /** Under a constant current the time to the next SOC of a table is known: end there at once. */
  private cutToGrid(h: number): number {
    const { state, controller } = this;
    if (controller.binding.law.kind !== 'current') return h;
    let least = h;
    for (let k = 0; k < state.cells.length; k++) {
      const grid = state.cells[k].model.soc;
      const next = state.socStretch[k] + 1;
      const rate = state.nodeCurrentA[4 * k] * state.cells[k].socPerAs;
      if (next >= grid.length || !(rate > 0) || state.bypass[k].conductanceS !== 0) continue;
      least = Math.min(least, (grid[next] - state.soc[k]) / rate);
    }
    return least;
  }

  /** Makes the step end at a switch. @returns the length of the step, 0 where the switch is at its start. */
  private locate(event: FoundEvent, tried: number): number {
    if (event.fraction <= 0) return 0;
    const law = this.controller.binding.law;
    let h = Math.max(event.fraction * tried, 1e-12);
    if (tried - h < EVENT_TIME_S) return tried;
    for (let pass = 0; ; pass++) {
      if (!Number.isFinite(this.step.attempt(h, law, this.previousS))) return 0;
      const residual = this.events.residualAtEnd(event);
      const slope = (event.direction * cubicSlopeAt(event.values, event.at, 1)) / h;
      if ((Math.abs(residual) <= event.epsilon && event.kind !== 'soc-grid') || !(slope > 0)) return h;
      const correction = -residual / slope;
      if (Math.abs(correction) <= EVENT_TIME_S || pass === MAX_LOCATIONS) return h;
      h = Math.min(Math.max(h + correction, h / 4), 2 * h);
    }
  }

  private take(h: number): void {
    this.steps += 1;
    this.ledger.add(h, this.controller);
    this.observer.watch(this.timeS, h);
    this.timeS += h;
    this.previousS = h;
    this.step.keepSlopes();
    this.timeline.extend(this.timeS, this.state.stackA[3]);
    this.state.accept();
    this.state.moveOnGrid();
  }

  private nextFixedTime(): number {
    const { setup, controller } = this;
    let next = controller.phase === 'rest' ? this.stageStartS + setup.restAfterS : setup.maxDurationS;
    const until = controller.phase === 'charge' ? setup.stages[controller.stage]?.until : null;
    if (until?.durationS != null && controller.stage < setup.stages.length - 1)
      next = Math.min(next, this.stageStartS + until.durationS);
    if (setup.seriesStepS !== null) next = Math.min(next, this.nextRow * setup.seriesStepS);
    return next;
  }

  private reachFixedTime(cap: number): void {
    const { setup, controller } = this;
    this.timeS = cap;
    if (setup.seriesStepS !== null && cap === this.nextRow * setup.seriesStepS) {
      this.observer.row(cap, 3);
      this.nextRow += 1;
    }
    if (controller.phase === 'rest') return;
    if (cap >= setup.maxDurationS) controller.end = 'max-duration';
    const until = controller.phase === 'charge' ? setup.stages[controller.stage].until : null;
    const last = controller.stage >= setup.stages.length - 1;
    if (until?.durationS != null && !last && cap >= this.stageStartS + until.durationS) this.nextStage();
  }

  private apply(event: FoundEvent, standing: boolean): void {
    const { state, controller } = this;
    const k = event.cell;
    switch (event.kind) {
      case 'soc-grid':
        // A step that ended on the grid point has moved the cell on already.
        if (standing) state.socStretch[k] += event.direction;
        return;
      case 'temperature-grid':
        state.temperatureStretch[k] += event.direction;
        return;
      case 'stage-end':
      case 'precharge-end':
        this.nextStage();
        return;
      case 'cell-voltage':
        state.readParameters();
        if (controller.stepped) controller.stepDown(k);
        this.reconsider(controller.stepped ? 'command' : { limit: controller.voltageLimitName(k), cell: k });
        return;
      case 'end-current':
        controller.end = this.endAtLaw();
        return;
      case 'too-hot':
        controller.end = 'temperature';
        return;
      case 'too-cold':
        controller.end = 'outside-temperature-window';
        return;
      case 'headroom':
        controller.end = 'bus-voltage-too-low';
        return;
      case 'zone':
        controller.changeZone(k, event.direction);
        this.reconsider(null);
        return;
      case 'bypass-on':
      case 'bypass-off':
        controller.bypassOn[k] = event.kind === 'bypass-on';
        this.reconsider(null);
        return;
      case 'regulator':
        controller.keepRegulator();
        this.reconsider(null);
        return;
      case 'supply-law':
        this.reconsider({ limit: controller.supplyLaws[k].limit, cell: null });
        return;
      case 'command':
        this.reconsider('command');
        return;
      default:
        this.reconsider(null);
        return;
    }
  }

  private endAtLaw(): EndReason {
    const limit = this.controller.binding.limit;
    return limit === 'source-voltage' || limit === 'source-power' ? 'bus-voltage-too-low' : 'end-current';
  }

  private nextStage(): void {
    this.controller.advance();
    this.stageStartS = this.timeS;
    this.reconsider('command');
  }

  /** Lets the controller choose anew and starts with short steps where the current jumps or bends. */
  private reconsider(met: MetLimit | null): void {
    const { state, controller } = this;
    const before = controller.binding;
    controller.choose(met);
    const current = state.currentUnder(controller.binding.law);
    this.previousS = 0;
    if (controller.binding !== before) this.suggestedS = Math.min(this.suggestedS, this.restartS);
    if (this.timeS === 0) state.startNode(current);
    this.timeline.open(this.timeS, current, controller);
    const limit = controller.binding.limit;
    if (this.observer.socAtVoltageLimit === null && (limit === 'cell-voltage' || limit === 'stack-voltage'))
      this.observer.socAtVoltageLimit = state.soc[controller.binding.cell ?? 0];
  }

  private finishCharge(reason: EndReason): void {
    if (this.endTimeS === null) {
      this.endTimeS = this.timeS;
      this.endReason = reason;
      this.timeline.close(this.timeS);
      this.endStates = this.setup.cells.map((_, k) => ({
        endSoc: this.state.soc[k],
        endVoltageV: this.state.nodeVoltageV[4 * k + (this.timeS === 0 ? 0 : 3)],
        endTemperatureC: this.state.temperatureC[k],
      }));
    }
    const rests =
      this.setup.restAfterS > 0 && this.controller.phase !== 'rest' && reason !== 'solver-stalled';
    if (!rests) {
      // Leaves the loop: no phase goes on.
      this.controller.phase = 'charge';
      return;
    }
    this.controller.phase = 'rest';
    this.stageStartS = this.timeS;
    this.reconsider(null);
  }

  private restartStep(): number {
    let shortest = Number.POSITIVE_INFINITY;
    for (const { cell } of this.setup.cells)
      for (const branch of cell.model.branches)
        for (const tau of branch.tauS) shortest = Math.min(shortest, tau);
    return Math.max(Math.min(0.5 * shortest, 5), 1e-4);
  }

  private result(): SimulatedCharge {
    const { state, observer, setup } = this;
    return {
      phases: this.timeline.phases,
      timesS: [...observer.reachedS].map((time) => (Number.isNaN(time) ? null : time)),
      endTimeS: this.endTimeS ?? this.timeS,
      endReason: this.endReason ?? 'solver-stalled',
      cells: setup.cells.map((charged, k) => {
        const peak = Math.max(
          observer.peakVoltageV[k],
          this.timeS === 0 ? state.nodeOcvV[4 * k] : observer.peakVoltageV[k],
        );
        const over = peak - charged.datasheetVoltageV;
        return {
          startSoc: charged.startSoc,
          ...this.endStates[k],
          peakVoltageV: peak,
          peakVoltageTimeS: observer.peakVoltageTimeS[k],
          peakTemperatureC: observer.peakTemperatureC[k],
          overvoltageV: over > 1e-7 ? over : 0,
          overvoltageDurationS: observer.overvoltageDurationS[k],
          bypassChargeAh: this.ledger.bypassAs[k] / 3600,
          temperatureOutsideTable: observer.temperatureOutside[k],
          socOutsideTable: observer.socOutside[k],
        };
      }),
      energy: this.ledger.result(),
      limits: this.timeline.limits,
      socAtVoltageLimit: observer.socAtVoltageLimit,
      series: observer.series,
      steps: this.steps,
      rejected: this.rejected,
    };
  }
}
