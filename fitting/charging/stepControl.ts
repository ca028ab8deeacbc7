import type { ChargeController } from './chargeController.ts';
import type { ChargeEvents, FoundEvent } from './chargeEvents.ts';
import { cubicSlopeAt } from './exponentialWeights.ts';
import type { StackState } from './stackState.ts';
import { StackStep } from './stackStep.ts';

const LARGEST_STEP_S = 900;
const SMALLEST_STEP_S = 1e-7;
/** A switch is placed to this time. */
const EVENT_TIME_S = 1e-9;
/** A switch that creeps up on its threshold may take this many tries; where it ends then is near enough. */
const MAX_LOCATIONS = 10;

/** Chooses the lengths of the steps: by their estimated error, by the points of the tables, and by the switches in them. */
export class StepControl {
  rejected = 0;
  private readonly state: StackState;
  private readonly step: StackStep;
  private readonly controller: ChargeController;
  private readonly events: ChargeEvents;
  private readonly restartS: number;
  private suggestedS: number;
  /** Length of the step before where the present one goes on smoothly from it, else 0. */
  private previousS = 0;

  constructor(state: StackState, controller: ChargeController, events: ChargeEvents) {
    this.state = state;
    this.controller = controller;
    this.events = events;
    this.step = new StackStep(state, controller.setup.tolerance);
    this.restartS = restartStep(state);
    this.suggestedS = this.restartS;
  }

  /** The tried step of `h` seconds is taken. */
  taken(h: number): void {
    this.previousS = h;
    this.step.keepSlopes();
  }

  /** The solution has a corner here; with another law it starts with short steps again. */
  corner(anotherLaw: boolean): void {
    this.previousS = 0;
    if (anotherLaw) this.suggestedS = Math.min(this.suggestedS, this.restartS);
  }

  /**
   * Tries steps from the present state until one is within the tolerance.
   * @returns its length, at most `longest` seconds; null where none is.
   */
  trial(longest: number): number | null {
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
  locate(event: FoundEvent, tried: number): number {
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
}

/** Half the shortest time constant, within reason: what follows a jump of the current is seen from its beginning. */
function restartStep(state: StackState): number {
  let shortest = Number.POSITIVE_INFINITY;
  for (const cell of state.cells)
    for (const branch of cell.model.branches)
      for (const tau of branch.tauS) shortest = Math.min(shortest, tau);
  return Math.max(Math.min(0.5 * shortest, 5), 1e-4);
}
