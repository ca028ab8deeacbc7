import type { Pulse } from '../../records/pulses.ts';
import type { RecordColumns, RowRange } from '../../records/record.ts';
import type { Step } from '../../records/step.ts';
import { LAGS_TO_SETTLE } from '../channel/laggedEdges.ts';
import { type CircuitWindow, circuitWindow } from './circuitWindow.ts';

/** How the current got from one row to the next where a step begins. */
export type EdgeShape = 'sharp' | 'linear';

/** How the rows around the edges of a pulse are read. */
export interface EdgeReading {
  readonly shape: EdgeShape;
  /**
   * Readings within this time after the pulse's beginning and after its end do not count: while current and
   * voltage channel have not settled together, a voltage channel that lags behind would pass for a quick
   * branch.
   */
  readonly deadS: number;
  /** First-order lag of the voltage channel where it is known: then those readings count, seen through it. */
  readonly lagS: number | null;
}

/** The rows of a record that the circuit of one pulse is fitted on. */
export interface PulseWindow {
  readonly window: CircuitWindow;
  /** First row that counts and row after the last, in the record. */
  readonly start: number;
  readonly end: number;
}

/** A rest this long ends what earlier currents may still do. */
const SETTLED_S = 300;
/** Rows of the rest before the pulse that count. */
const BASE_ROWS = 10;
const BASE_S = 5;

/**
 * The window of a pulse: the last rows of the rest before it, the pulse, and its relaxation up to the next
 * current (at most `longestRelaxationS`, no gap). Where that rest was short, the rows back to the last long
 * rest lead the branches into their state without counting.
 */
export function pulseWindow(
  record: RecordColumns,
  steps: readonly Step[],
  pulse: Pulse,
  edges: EdgeReading,
  longestRelaxationS = 3600,
): PulseWindow {
  const { timeS } = record;
  const base = steps[pulse.baseStep];
  let start = pulse.start - 1;
  while (
    start > base.start &&
    pulse.start - start < BASE_ROWS &&
    timeS[pulse.start - 1] - timeS[start - 1] <= BASE_S
  ) {
    start--;
  }
  const lead = leadStart(record, steps, pulse.baseStep, start);
  const end = relaxationEnd(record, steps, pulse, longestRelaxationS);
  const sharpRows: number[] = [];
  if (edges.shape === 'sharp') {
    for (const step of steps) if (step.start > lead && step.start < end) sharpRows.push(step.start - lead);
  }
  const blocks = edgeBlocks(record, pulse, edges, end).map((block) => ({
    start: block.start - lead,
    end: block.end - lead,
  }));
  // A pulse that ends before its beginning has passed through the channel tells nothing about its edges.
  const { lagS } = edges;
  const seen = lagS !== null && blocks[0].end <= pulse.end - lead;
  const window = circuitWindow({
    timeS: record.timeS.subarray(lead, end),
    currentA: record.currentA.subarray(lead, end),
    voltageV: record.voltageV.subarray(lead, end),
    sharpRows,
    baseCurrentA: base.kind === 'rest' ? 0 : base.currentA,
    firstScored: start - lead,
    ...(seen ? { channelLag: { lagS, blocks } } : { ignored: blocks }),
  });
  return { window, start, end };
}

/** The rows after the pulse's beginning and after its end that have not settled. */
function edgeBlocks(record: RecordColumns, pulse: Pulse, edges: EdgeReading, end: number): RowRange[] {
  const { timeS } = record;
  return [pulse.start, pulse.end].map((first) => {
    const settledS =
      edges.lagS === null
        ? edges.deadS + (first === pulse.start ? pulse.startTimeS : timeS[pulse.end - 1])
        : LAGS_TO_SETTLE * edges.lagS + timeS[first - 1];
    let row = first;
    while (row < end && timeS[row] < settledS) row++;
    return { start: first, end: row };
  });
}

function leadStart(record: RecordColumns, steps: readonly Step[], baseStep: number, start: number): number {
  const durationS = (step: Step): number => record.timeS[step.end - 1] - record.timeS[step.start];
  let s = baseStep;
  if (steps[s].kind !== 'rest' || durationS(steps[s]) >= SETTLED_S) return start;
  while (s > 0 && steps[s].gapBeforeS === 0 && !steps[s].clockRestarted) {
    s--;
    if (steps[s].kind === 'rest' && durationS(steps[s]) >= SETTLED_S) return steps[s].end - 1;
    if (record.timeS[start] - record.timeS[steps[s].start] > 2 * SETTLED_S) break;
  }
  return s === baseStep ? start : Math.min(start, steps[s].start);
}

function relaxationEnd(
  record: RecordColumns,
  steps: readonly Step[],
  pulse: Pulse,
  longestS: number,
): number {
  const next = steps[pulse.lastStep + 1];
  if (next === undefined || next.kind !== 'rest' || next.gapBeforeS > 0 || next.clockRestarted) {
    return pulse.end;
  }
  let end = next.end;
  while (end > next.start + 1 && record.timeS[end - 1] - record.timeS[pulse.end - 1] > longestS) end--;
  return end;
}
