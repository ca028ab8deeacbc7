import type { ChargeController } from './chargeController.ts';
import { NO_POWER, type PowerFlow, powerFlow } from './powerFlow.ts';
import type { StackState } from './stackState.ts';
import type { ConverterMode } from './supply.ts';

/** A moment of a charge that a person reads off. */
export interface OperatingPoint {
  readonly moment: 'start' | 'peak-power' | 'voltage-limit' | 'end';
  readonly timeS: number;
  readonly stackCurrentA: number;
  /** Sum of the cell voltages. */
  readonly stackVoltageV: number;
  readonly converterMode: ConverterMode;
  /** At the source; null without one. `busSetVoltageV` is the source's next step upwards. */
  readonly busVoltageV: number | null;
  readonly busSetVoltageV: number | null;
  readonly busCurrentA: number | null;
  /** Output current of each path of the fixed ratio; null where it is not at work. */
  readonly pathCurrentsA: readonly number[] | null;
  readonly power: PowerFlow;
}

/** What is kept of a moment until the charge is over. */
class Moment {
  timeS = Number.NaN;
  stackA = 0;
  stackV = 0;
  mode: ConverterMode = 'none';
  readonly power: PowerFlow = { ...NO_POWER };

  get known(): boolean {
    return !Number.isNaN(this.timeS);
  }

  take(state: StackState, mode: ConverterMode, timeS: number, a: number, power: PowerFlow): void {
    this.timeS = timeS;
    this.stackA = state.stackA[a];
    this.stackV = state.stackV[a];
    this.mode = mode;
    Object.assign(this.power, power);
  }
}

/** Keeps the moments of a charge at which its power is wanted. */
export class OperatingPoints {
  private readonly state: StackState;
  private readonly controller: ChargeController;
  private readonly flow: PowerFlow = { ...NO_POWER };
  private readonly moments = {
    start: new Moment(),
    'peak-power': new Moment(),
    'voltage-limit': new Moment(),
    end: new Moment(),
  };

  constructor(state: StackState, controller: ChargeController) {
    this.state = state;
    this.controller = controller;
  }

  /** Looks at the step of `h` seconds from `startS` whose nodes are filled. */
  watch(startS: number, h: number): void {
    const { controller, moments, state, flow } = this;
    const { binding, mode, phase } = controller;
    if (phase === 'rest') return;
    const peak = moments['peak-power'];
    for (let a = 0; a < 4; a += 3) {
      const timeS = a === 0 ? startS : startS + h;
      powerFlow(state, controller, a, flow);
      if (flow.sourceW > peak.power.sourceW) peak.take(state, mode, timeS, a, flow);
      if (a === 3) moments.end.take(state, mode, timeS, a, flow);
      else {
        if (!moments.start.known) moments.start.take(state, mode, timeS, a, flow);
        const held = binding.law.kind === 'voltage' && binding.limit !== 'zone-voltage';
        if (held && !moments['voltage-limit'].known)
          moments['voltage-limit'].take(state, mode, timeS, a, flow);
      }
    }
  }

  /** In the order of time; a charge that never began has none. */
  result(): OperatingPoint[] {
    return (Object.keys(this.moments) as OperatingPoint['moment'][])
      .filter((name) => this.moments[name].known)
      .map((name) => this.point(name, this.moments[name]))
      .sort((p, q) => p.timeS - q.timeS);
  }

  private point(moment: OperatingPoint['moment'], at: Moment): OperatingPoint {
    const { supply } = this.controller;
    const { stackA, stackV, mode } = at;
    const bus = { sourceV: 0, converterV: 0, currentA: 0 };
    if (stackA > 0) supply?.bus(mode, stackA, stackV, bus);
    const ofSource = (value: number) => (supply === null ? null : value);
    return {
      moment,
      timeS: at.timeS,
      stackCurrentA: stackA,
      stackVoltageV: stackV,
      converterMode: mode,
      busVoltageV: ofSource(bus.sourceV),
      busSetVoltageV: ofSource(supply?.setVoltage(bus.sourceV) ?? 0),
      busCurrentA: ofSource(bus.currentA),
      pathCurrentsA:
        supply === null || mode !== 'ratio' || supply.supply.ratioStage === null
          ? null
          : supply.stage.shares.map((share) => share * stackA),
      power: at.power,
    };
  }
}
