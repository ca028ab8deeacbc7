import type { EndReason, MetLimit } from './chargeBinding.ts';
import { ChargeController } from './chargeController.ts';
import { ChargeEvents, type FoundEvent } from './chargeEvents.ts';
import { ChargeObserver } from './chargeObserver.ts';
import { type ChargeSetup, checkChargeSetup } from './chargeSetup.ts';
import { ChargeTimeline } from './chargeTimeline.ts';
import { EnergyLedger } from './energyLedger.ts';
import { type CellEnd, cellEnds, cellResult, type SimulatedCharge } from './simulatedCharge.ts';
import { StackState } from './stackState.ts';
import { StepControl } from './stepControl.ts';

const MAX_STEPS = 200_000;
const MAX_STANDING = 20;

/**
 * Simulates the charge of a stack of cells in series: precharge, stages, the taper on the limiting cell, temperature zones,
 * bypasses, and the limits of source, cable and converter. At every moment the smallest of all allowed currents flows; each
 * switch is located on the solution and the step repeated so that it ends there.
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
  private readonly controller: ChargeController;
  private readonly events: ChargeEvents;
  private readonly steps: StepControl;
  private readonly ledger: EnergyLedger;
  private readonly observer: ChargeObserver;
  private readonly timeline = new ChargeTimeline();
  private timeS = 0;
  private stageStartS = 0;
  private nextRow = 1;
  private count = 0;
  /** Switches in a row that took no time: more than a few mean that two rules contradict each other. */
  private standing = 0;
  private endTimeS: number | null = null;
  private endReason: EndReason | null = null;
  private cellEnds: CellEnd[] = [];

  constructor(setup: ChargeSetup) {
    const compiled = setup.cells.map((charged) => charged.cell);
    this.setup = setup;
    this.state = new StackState(compiled, setup.ambientTemperatureC);
    setup.cells.forEach((charged, k) => {
      this.state.place(k, charged.startSoc, charged.startTemperatureC);
    });
    this.controller = new ChargeController(setup, this.state);
    this.events = new ChargeEvents(this.state, this.controller);
    this.steps = new StepControl(this.state, this.controller, this.events);
    this.ledger = new EnergyLedger(this.state);
    this.observer = new ChargeObserver(this.state, this.controller);
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
    const h = this.steps.trial(cap - this.timeS);
    if (this.count > MAX_STEPS) return false;
    if (h === null) return this.supplyFails(this.controller.holdsSupplyLaw);
    const event = this.events.first();
    const length = event === null ? h : this.steps.locate(event, h);
    if (length > 0) this.take(length);
    if (event !== null) {
      this.standing = length > 0 ? 0 : this.standing + 1;
      if (this.standing > MAX_STANDING) return this.supplyFails(event.kind === 'supply-law');
      this.apply(event, length === 0);
    } else if (cap - this.timeS <= 1e-9 * Math.max(1, cap)) this.reachFixedTime(cap);
    return true;
  }

  /**
   * Contradictory limits can stall the simulation. Where one is a law of the supply there is no current
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

  private take(h: number): void {
    this.count += 1;
    this.ledger.add(h, this.controller);
    this.observer.watch(this.timeS, h);
    this.timeS += h;
    this.steps.taken(h);
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
        controller.meetEndCurrent();
        if (controller.end === null) this.reconsider(null);
        return;
      case 'bypass-exceeds-end-current':
        controller.end = 'bypass-exceeds-end-current';
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
      case 'headroom-above':
      case 'bus-too-high':
        controller.end = 'bus-voltage-too-high';
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

  private nextStage(): void {
    this.controller.advance();
    this.stageStartS = this.timeS;
    this.reconsider('command');
  }

  /** Lets the controller choose again and starts with short steps where the current jumps or bends. */
  private reconsider(met: MetLimit | null): void {
    const { state, controller } = this;
    const before = controller.binding;
    controller.choose(met);
    const current = state.currentUnder(controller.binding.law);
    this.steps.corner(controller.binding !== before);
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
      if (this.timeS === 0) this.observer.neverBegan();
      this.cellEnds = cellEnds(this.state, this.timeS > 0);
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

  private result(): SimulatedCharge {
    const { observer, setup } = this;
    return {
      phases: this.timeline.phases,
      timesS: [...observer.reachedS].map((time) => (Number.isNaN(time) ? null : time)),
      endTimeS: this.endTimeS ?? this.timeS,
      endReason: this.endReason ?? 'solver-stalled',
      cells: setup.cells.map((charged, k) =>
        cellResult(charged, k, this.cellEnds[k], observer, this.ledger.bypassAs[k]),
      ),
      energy: this.ledger.result(),
      limits: this.timeline.limits,
      operatingPoints: observer.points.result(),
      socAtVoltageLimit: observer.socAtVoltageLimit,
      series: observer.series,
      steps: this.count,
      rejected: this.steps.rejected,
    };
  }
}
