import type { Pulse, RecordColumns, RowRange, Step, StepFinding } from '../../records/index.ts';
import { type EdgeMoment, edgeMoment, withLateVoltage } from '../../records/index.ts';
import { LAGS_TO_SETTLE } from '../channel/laggedEdges.ts';
import { type BaseRate, basePart, type PastOfPulse } from './basePart.ts';
import { type CircuitWindow, circuitWindow } from './circuitWindow.ts';

/**
 * How the current got from one row to the next at the edges of a pulse: `between` jumps at the moment that the rows
 * leave open (`edgeMoment`), `sharp` right after the row before, `linear` rises from row to row.
 */
export type EdgeShape = 'between' | 'sharp' | 'linear';

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

/** How far the edges are taken to lie from the middle of what the rows leave open, in s. */
export interface EdgeShift {
  readonly onS: number;
  readonly offS: number;
}

/** The rows of a record that the circuit of one pulse is fitted on. */
export interface PulseWindow {
  readonly window: CircuitWindow;
  /** Row of the record that each row of the window is; −1 for the moment of an edge between rows. */
  readonly rows: Int32Array;
  /** First row that counts and row after the last, in the record. */
  readonly start: number;
  readonly end: number;
  readonly past: PastOfPulse;
  /** See `BasePart`. */
  readonly rate: BaseRate | null;
  readonly on: EdgeMoment;
  /** null where nothing is seen of the pulse's end. */
  readonly off: EdgeMoment | null;
  /** Row after the last that was read under the pulse's full current. */
  readonly loadedEnd: number;
  /** How far the edges are taken from the middle of what the rows leave open. */
  readonly shift: EdgeShift;
}

const NOT_SHIFTED: EdgeShift = { onS: 0, offS: 0 };

/**
 * The window of a pulse: the rows of the step before it (`basePart`), the pulse, and its relaxation up to the next
 * current (at most `longestRelaxationS`, no gap). A level that holds within its noise counts as constant.
 */
export function pulseWindow(
  record: RecordColumns,
  finding: StepFinding,
  pulse: Pulse,
  reading: EdgeReading,
  longestRelaxationS = 3600,
  shift: EdgeShift = NOT_SHIFTED,
): PulseWindow {
  const end = relaxationEnd(record, finding, pulse, longestRelaxationS);
  const edges = pulseEdges(record, finding, pulse, end);
  const { timeS } = record;
  const skipS = reading.lagS === null ? 0 : LAGS_TO_SETTLE * reading.lagS;
  const { start, past, rate } = basePart(
    record,
    finding,
    pulse,
    skipS,
    timeS[end - 1] - timeS[pulse.start - 1],
  );
  const draft = new WindowDraft(record, finding, pulse, { start, end });
  const blocks = edgeBlocks(record, pulse, reading, edges, end);
  // A pulse that ends before its beginning has passed through the channel tells nothing about its edges.
  const seen = reading.lagS !== null && blocks[0].end <= pulse.end;
  if (reading.shape === 'between' && !seen) {
    draft.put(start, pulse.start);
    draft.putEdge(edges.on, shift.onS, true);
    draft.put(Math.max(edges.on.settled, blocks[0].end), edges.loadedEnd);
    if (edges.off !== null) {
      draft.putEdge(edges.off, shift.offS, false);
      draft.put(Math.max(edges.off.settled, blocks[1].end), end);
    }
    return { ...draft.window({}), start, end, past, rate, shift, ...edges };
  }
  draft.put(start, end);
  const moved = blocks.map((block) => ({ start: block.start - start, end: block.end - start }));
  return {
    ...draft.window({
      sharpRows: reading.shape === 'linear' ? [] : [pulse.start - start, pulse.end - start],
      ...(seen ? { channelLag: { lagS: reading.lagS as number, blocks: moved } } : { ignored: moved }),
    }),
    start,
    end,
    past,
    rate,
    shift: NOT_SHIFTED,
    ...edges,
  };
}

/** The moments at which a pulse's current began and ended. */
export function pulseEdges(
  record: RecordColumns,
  finding: StepFinding,
  pulse: Pulse,
  end: number,
): Pick<PulseWindow, 'on' | 'off' | 'loadedEnd'> {
  const { scale } = finding;
  const toleranceA = Math.max(3 * scale.loadNoiseA + scale.resolutionA, 1e-9);
  const baseA = pulse.baseCurrentA;
  const answered = (edge: EdgeMoment, last: number): EdgeMoment =>
    withLateVoltage(record, edge, last, finding.voltageNoiseV);
  const on = answered(
    edgeMoment(record, pulse.start, pulse.end, { fromA: baseA, toA: pulse.currentA }, toleranceA),
    pulse.end,
  );
  const steady = isSteady(finding, pulse);
  let loadedEnd = pulse.end;
  // A row that was read, or averaged, while the current left its level belongs to the edge.
  const leaving = (row: number): boolean => Math.abs(record.currentA[row] - pulse.currentA) > toleranceA;
  while (steady && pulse.end - loadedEnd < 3 && loadedEnd - 1 > on.settled && leaving(loadedEnd - 1))
    loadedEnd--;
  if (end <= pulse.end) return { on, off: null, loadedEnd };
  const fromA = steady ? pulse.currentA : record.currentA[pulse.end - 1];
  const levels = { fromA, toA: restAfter(finding, pulse)?.currentA ?? pulse.baseCurrentA };
  return { on, off: answered(edgeMoment(record, loadedEnd, end, levels, toleranceA), end), loadedEnd };
}

/** The rows after the pulse's beginning and after its end that have not settled. */
function edgeBlocks(
  record: RecordColumns,
  pulse: Pulse,
  reading: EdgeReading,
  edges: Pick<PulseWindow, 'on' | 'off'>,
  end: number,
): RowRange[] {
  const { timeS } = record;
  return [pulse.start, pulse.end].map((first) => {
    const edgeS = first === pulse.start ? edges.on.momentS : (edges.off?.momentS ?? timeS[pulse.end - 1]);
    const settledS =
      reading.lagS === null ? reading.deadS + edgeS : LAGS_TO_SETTLE * reading.lagS + timeS[first - 1];
    let row = first;
    while (row < end && timeS[row] < settledS) row++;
    return { start: first, end: row };
  });
}

/** A level whose halves differ by more than this share, or by what its noise allows, is not one. */
const SAME_LEVEL = 2e-4;

/** A window that is put together from parts. */
class WindowDraft {
  private readonly record: RecordColumns;
  private readonly finding: StepFinding;
  private readonly pulse: Pulse;
  private readonly baseA: number;
  private readonly timeS: Float64Array;
  private readonly currentA: Float64Array;
  private readonly voltageV: Float64Array;
  private readonly rows: Int32Array;
  private readonly sharp: number[] = [];
  private readonly ignored: RowRange[] = [];
  private count = 0;

  constructor(record: RecordColumns, finding: StepFinding, pulse: Pulse, range: RowRange) {
    this.record = record;
    this.finding = finding;
    this.pulse = pulse;
    const most = range.end - range.start + 2;
    this.timeS = new Float64Array(most);
    this.currentA = new Float64Array(most);
    this.voltageV = new Float64Array(most);
    this.rows = new Int32Array(most);
    this.baseA = levelOf(record, finding, range.start, pulse.start) ?? pulse.baseCurrentA;
  }

  /** Adds rows of the record, part by part at their levels. */
  put(start: number, end: number): void {
    const cuts = [start, this.pulse.start, this.pulse.end, end].map((row) =>
      Math.min(Math.max(row, start), end),
    );
    for (let part = 0; part < 3; part++) this.putPart(cuts[part], cuts[part + 1], part);
  }

  private putPart(start: number, end: number, part: number): void {
    if (end <= start) return;
    const { record, finding, pulse } = this;
    const steady = part !== 1 || isSteady(finding, pulse);
    const level = steady ? levelOf(record, finding, start, end) : null;
    const atRest = part === 2 && finding.steps[pulse.baseStep].kind === 'rest';
    for (let row = start; row < end; row++) {
      const k = this.count++;
      this.timeS[k] = Math.max(record.timeS[row], k > 0 ? this.timeS[k - 1] : -Infinity);
      this.voltageV[k] = record.voltageV[row];
      this.currentA[k] = level === null ? record.currentA[row] : part === 0 || atRest ? this.baseA : level;
      this.rows[k] = row;
    }
  }

  /** Adds the moment of an edge: the current holds up to it, and has its new level from there on. */
  putEdge(edge: EdgeMoment, shiftS: number, begins: boolean): void {
    const k = this.count++;
    const next = this.record.timeS[edge.settled];
    this.timeS[k] = Math.min(Math.max(edge.momentS + shiftS, this.timeS[k - 1]), next);
    this.currentA[k] = begins ? this.baseA : this.currentA[k - 1];
    this.voltageV[k] = this.voltageV[k - 1];
    this.rows[k] = -1;
    this.ignored.push({ start: k, end: k + 1 });
    this.sharp.push(k, k + 1);
  }

  window(more: Partial<Parameters<typeof circuitWindow>[0]>): { window: CircuitWindow; rows: Int32Array } {
    const { count, finding, pulse } = this;
    const base = finding.steps[pulse.baseStep];
    const window = circuitWindow({
      timeS: this.timeS.subarray(0, count),
      currentA: this.currentA.subarray(0, count),
      voltageV: this.voltageV.subarray(0, count),
      sharpRows: this.sharp,
      ignored: this.ignored,
      baseCurrentA: this.baseA,
      chargeBaseA: base.kind === 'rest' ? 0 : this.baseA - (finding.scale.restOffsetA ?? 0),
      ...more,
    });
    return { window, rows: this.rows.subarray(0, count) };
  }
}

const isSteady = (finding: StepFinding, pulse: Pulse): boolean =>
  finding.steps.slice(pulse.firstStep, pulse.lastStep + 1).every(({ kind }) => kind === 'constant-current');

/** Mean current of rows that hold one level within its noise; null where they do not. */
function levelOf(
  { currentA }: RecordColumns,
  { scale }: StepFinding,
  start: number,
  end: number,
): number | null {
  const rows = end - start;
  if (rows < 1) return null;
  const middle = start + (rows >> 1);
  const mean = (from: number, to: number): number => {
    let sum = 0;
    for (let k = from; k < to; k++) sum += currentA[k];
    return sum / (to - from);
  };
  const whole = mean(start, end);
  if (rows < 4) return rows > 1 && Math.abs(currentA[start] - whole) > 3 * scale.loadNoiseA ? null : whole;
  const apart = Math.abs(mean(start, middle) - mean(middle, end));
  const allowed = Math.max(
    SAME_LEVEL * scale.largeA,
    (4 * scale.loadNoiseA) / Math.sqrt(rows / 4),
    0.6 * scale.resolutionA,
  );
  if (apart > allowed) return null;
  const near = Math.max(6 * scale.loadNoiseA, scale.resolutionA, 0.002 * scale.largeA);
  for (let k = start; k < end; k++) if (Math.abs(currentA[k] - whole) > near) return null;
  return whole;
}

/** Steps and rows on the way from a pulse to the rest after it. */
const LONGEST_WAY = { steps: 2, rows: 4 };

/** The rest after a pulse, straight away or behind a few rows of a current on its way to it; null where there is none. */
function restAfter({ steps }: StepFinding, pulse: Pulse): Step | null {
  for (let s = pulse.lastStep + 1; s <= pulse.lastStep + 1 + LONGEST_WAY.steps; s++) {
    const next = steps[s];
    if (next === undefined || next.gapBeforeS > 0 || next.clockRestarted) return null;
    if (next.kind === 'rest') return next;
    const smaller = Math.abs(next.currentA) < Math.abs(pulse.currentA);
    if (next.end - pulse.end > LONGEST_WAY.rows || !smaller || next.currentA * pulse.currentA < 0)
      return null;
  }
  return null;
}

function relaxationEnd(record: RecordColumns, finding: StepFinding, pulse: Pulse, longestS: number): number {
  const next = restAfter(finding, pulse);
  if (next === null) return pulse.end;
  let end = next.end;
  while (end > next.start + 1 && record.timeS[end - 1] - record.timeS[pulse.end - 1] > longestS) end--;
  return end;
}
