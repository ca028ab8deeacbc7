import type { LimitName } from './chargeBinding.ts';
import type { ChargeController } from './chargeController.ts';
import type { ConverterMode } from './supply.ts';
import { LEAST_HYSTERESIS_K } from './temperatureZones.ts';

/** Longest stretch away from the edge of a zone that counts as held at it, s. */
const AT_EDGE_S = 60;

export interface ChargePhase {
  readonly kind: 'precharge' | 'constant-current' | 'constant-voltage' | 'source-limited' | 'paused' | 'rest';
  readonly stage: number | null;
  readonly limitingCell: number | null;
  readonly converterMode: ConverterMode;
  readonly startTimeS: number;
  endTimeS: number;
  readonly startCurrentA: number;
  endCurrentA: number;
}

/** A stretch of time in which one limit bound the current. */
export interface LimitStretch {
  readonly limit: LimitName;
  readonly cell: number | null;
  /** Path of the converter whose limit it is. */
  readonly path: number | null;
  readonly startTimeS: number;
  endTimeS: number;
}

/** Keeps the phases and what bound when; a stretch that lasted no time leaves no trace. */
export class ChargeTimeline {
  readonly phases: ChargePhase[] = [];
  readonly limits: LimitStretch[] = [];

  /** Tells what holds from `timeS` on, with the stack current at that moment. */
  open(timeS: number, currentA: number, controller: ChargeController): void {
    const { binding } = controller;
    const kind = phaseKind(controller);
    const next: ChargePhase = {
      kind,
      stage: kind === 'constant-current' ? controller.stage : null,
      limitingCell: kind === 'constant-voltage' ? binding.cell : null,
      converterMode: controller.mode,
      startTimeS: timeS,
      endTimeS: timeS,
      startCurrentA: currentA,
      endCurrentA: currentA,
    };
    this.dropEmpty(timeS);
    if (controller.setup.zoneHysteresisK < LEAST_HYSTERESIS_K) this.joinAtEdge(next, binding, timeS);
    const last = this.phases.at(-1);
    const stepped = controller.stepped && kind === 'constant-current' && last?.startCurrentA !== currentA;
    if (last === undefined || stepped || !samePhase(last, next)) this.phases.push(next);
    const lastLimit = this.limits.at(-1);
    if (lastLimit === undefined || lastLimit.limit !== binding.limit || lastLimit.cell !== binding.cell)
      this.limits.push({
        limit: binding.limit,
        cell: binding.cell,
        path: binding.path,
        startTimeS: timeS,
        endTimeS: timeS,
      });
  }

  /** Tells that what was opened has lasted until `timeS`, with the stack current there. */
  extend(timeS: number, currentA: number): void {
    const phase = this.phases.at(-1);
    if (phase !== undefined) {
      phase.endTimeS = timeS;
      phase.endCurrentA = currentA;
    }
    const limit = this.limits.at(-1);
    if (limit !== undefined) limit.endTimeS = timeS;
  }

  /** The charge has ended: what was opened last and has not begun to last is taken back. */
  close(timeS: number): void {
    this.dropEmpty(timeS);
  }

  /**
   * A cell held at the edge of a zone goes to and fro between two currents: what returns after a short stretch goes on, and
   * the zone's limit is the one that holds.
   */
  private joinAtEdge(
    next: ChargePhase,
    { limit, cell }: Pick<LimitStretch, 'limit' | 'cell'>,
    timeS: number,
  ): void {
    const [phase, between] = this.phases.slice(-2);
    if (between !== undefined && timeS - between.startTimeS < AT_EDGE_S && samePhase(phase, next)) {
      this.phases.pop();
      phase.endTimeS = timeS;
    }
    const [before, last] = this.limits.slice(-2);
    const returns = last !== undefined && before.limit === limit && before.cell === cell;
    if (!returns || !isOfZone(limit) || timeS - last.startTimeS >= AT_EDGE_S) return;
    this.limits.pop();
    before.endTimeS = timeS;
  }

  private dropEmpty(timeS: number): void {
    if (this.phases.at(-1)?.startTimeS === timeS) this.phases.pop();
    if (this.limits.at(-1)?.startTimeS === timeS) this.limits.pop();
  }
}

function isOfZone(limit: LimitName): boolean {
  return limit === 'zone-current' || limit === 'zone-no-charge' || limit === 'zone-voltage';
}

function phaseKind(controller: ChargeController): ChargePhase['kind'] {
  const { binding, phase } = controller;
  if (phase === 'rest') return 'rest';
  if (binding.law.kind === 'current') {
    if (binding.law.currentA === 0) return 'paused';
    return phase === 'precharge' ? 'precharge' : 'constant-current';
  }
  return binding.law.kind === 'supply' ? 'source-limited' : 'constant-voltage';
}

function samePhase(a: ChargePhase, b: ChargePhase): boolean {
  return (
    a.kind === b.kind &&
    a.stage === b.stage &&
    a.limitingCell === b.limitingCell &&
    a.converterMode === b.converterMode
  );
}
