import type { RowBlock } from '../store/chunks/rowBlock.ts';
import type { PlausibleLimits } from './limits.ts';
import { hasInstants, type RecordPlan } from './recordPlan.ts';
import { RefusedFile } from './refusedFile.ts';
import type { KeyValue, RunSink } from './runSink.ts';
import { type JoinState, joinTimes, newJoinState } from './timeJoin.ts';

/** Runs in one file beyond which it is refused: the column taken for a key is then hardly one. */
const maxRuns = 20_000;

interface Run {
  readonly index: number;
  lastTimeS: number;
  lastCycle: number;
  /** Time of the first row, taken off where the file writes instants. */
  readonly originS: number;
  /** Where joining its segments stands. */
  readonly join: JoinState;
  segment: string;
}

/** Checks blocks of parsed rows, finds where runs begin, and hands the rows on. */
export class RunChecks {
  private readonly plan: RecordPlan;
  private readonly limits: PlausibleLimits;
  private readonly sink: RunSink;
  private readonly runs = new Map<string, Run>();
  private key: readonly KeyValue[] = [];
  private keyText = '';
  private current: Run | null = null;
  private segment = '';
  private readonly instants: boolean;
  private readonly places: { voltage: number; current: number; temperature: number };

  constructor(plan: RecordPlan, limits: PlausibleLimits, sink: RunSink) {
    this.plan = plan;
    this.limits = limits;
    this.sink = sink;
    const place = (role: string): number => plan.numbers.findIndex((column) => column.mapping.role === role);
    this.instants = hasInstants(plan);
    this.places = { voltage: place('voltage'), current: place('current'), temperature: place('temperature') };
  }

  /** The rows taken from now on belong to the run with this key, new or met before. */
  enter(values: readonly KeyValue[]): void {
    const { keys } = this.plan;
    const key = values.filter((_, k) => keys[k] === undefined || keys[k].role !== 'segment');
    values.forEach(({ value }, k) => {
      if (keys[k]?.role === 'segment') this.segment = value;
    });
    this.key = key;
    this.keyText = JSON.stringify(key.map(({ value }) => value));
    this.current = this.runs.get(this.keyText) ?? null;
  }

  /**
   * Takes `count` rows, the first of which is line `firstLine` of the file and its data row `firstRow`.
   *
   * @throws RefusedFile `time-backwards`, `impossible-voltage`, `impossible-current`, `impossible-temperature`
   */
  take(block: RowBlock, count: number, firstLine: number, firstRow: number): void {
    const { values, stride } = block;
    this.turnSigns(block, count);
    const { dayAt } = this.plan;
    if (dayAt >= 0) for (let i = 0; i < count; i++) values[i] += values[dayAt * stride + i];
    this.checkRange('voltage', values, stride, count, firstLine);
    this.checkRange('current', values, stride, count, firstLine);
    this.checkRange('temperature', values, stride, count, firstLine);
    let from = 0;
    while (from < count) {
      const run = this.current ?? this.begin(values, stride, from, firstLine, firstRow);
      if (this.instants) {
        for (let i = from; i < count; i++) values[i] -= run.originS;
      }
      if (this.plan.join !== null) {
        this.joined(run, block, from, count, firstLine);
        return;
      }
      const to = this.endOfRun(run, values, stride, from, count, firstLine);
      this.sink.rows(run.index, block, from, to, firstLine + from);
      from = to;
    }
  }

  /** Hands on rows of a run whose segments are joined; those that an overlap has twice are left out. */
  private joined(run: Run, block: RowBlock, from: number, count: number, firstLine: number): void {
    const begins = run.segment !== this.segment;
    run.segment = this.segment;
    const { join } = this.plan;
    if (join === null) return;
    for (const [start, end] of joinTimes(join, run.join, block, from, count, begins)) {
      this.endOfRun(run, block.values, block.stride, start, end, firstLine);
      this.sink.rows(run.index, block, start, end, firstLine + start);
    }
  }

  private begin(values: Float64Array, stride: number, at: number, firstLine: number, firstRow: number): Run {
    if (this.runs.size >= maxRuns) {
      throw new RefusedFile({
        code: 'too-many-runs',
        row: firstLine + at,
        column: this.key.map(({ column }) => column).join(', ') || null,
        reason: `The file falls into more than ${maxRuns} runs`,
        expected: 'Say which columns tell the runs apart with --run-column NAME, or that none does',
      });
    }
    const { cycleAt } = this.plan;
    const cycle = cycleAt < 0 ? 0 : values[cycleAt * stride + at];
    const run: Run = {
      index: this.runs.size,
      lastTimeS: -Infinity,
      lastCycle: cycle,
      originS: values[at],
      join: newJoinState(),
      segment: this.segment,
    };
    this.runs.set(this.keyText, run);
    this.current = run;
    this.sink.begin(run.index, this.key, firstLine + at, firstRow + at, run.originS);
    return run;
  }

  /** First row after `from` that belongs to another run: where time begins afresh with another cycle. */
  private endOfRun(
    run: Run,
    values: Float64Array,
    stride: number,
    from: number,
    count: number,
    firstLine: number,
  ): number {
    const { cycleAt } = this.plan;
    let last = run.lastTimeS;
    for (let i = from; i < count; i++) {
      const timeS = values[i];
      if (timeS < last) {
        const before = i === from ? run.lastCycle : values[cycleAt * stride + i - 1];
        const cycle = cycleAt < 0 ? before : values[cycleAt * stride + i];
        if (cycle === before) throw this.timeBackwards(firstLine + i, timeS, last);
        this.splitAt(cycle);
        run.lastTimeS = last;
        if (this.instants) {
          for (let k = i; k < count; k++) values[k] += run.originS;
        }
        return i;
      }
      last = timeS;
    }
    run.lastTimeS = last;
    if (cycleAt >= 0) run.lastCycle = values[cycleAt * stride + count - 1];
    return count;
  }

  private splitAt(cycle: number): void {
    const column = this.plan.numbers[this.plan.cycleAt].mapping.source;
    const key = this.key.filter((part) => part.column !== column);
    this.enter([...key, { column, value: String(cycle) }]);
  }

  private turnSigns(block: RowBlock, count: number): void {
    const { values, integers, stride } = block;
    const { split } = this.plan;
    this.plan.numbers.forEach((column, k) => {
      const start = k * stride;
      const add = column.unit?.add ?? 0;
      if (add !== 0) for (let i = start; i < start + count; i++) values[i] += add;
      // Subtracting from zero leaves a resting 0 at 0 instead of making it -0.
      if (!column.negate) return;
      for (let i = start; i < start + count; i++) {
        values[i] = 0 - values[i];
        integers[i] = -integers[i];
      }
    });
    if (split !== null) joinCurrents(block, split, count);
  }

  private checkRange(
    role: 'voltage' | 'current' | 'temperature',
    values: Float64Array,
    stride: number,
    count: number,
    firstLine: number,
  ): void {
    const place = this.places[role];
    if (place < 0) return;
    const { limits } = this;
    const [min, max, unit] = {
      voltage: [limits.voltageMinV, limits.voltageMaxV, 'V'] as const,
      current: [-limits.currentMaxA, limits.currentMaxA, 'A'] as const,
      temperature: [limits.temperatureMinC, limits.temperatureMaxC, '°C'] as const,
    }[role];
    const start = place * stride;
    for (let i = start; i < start + count; i++) {
      if (values[i] >= min && values[i] <= max) continue;
      throw new RefusedFile({
        code: `impossible-${role}`,
        row: firstLine + i - start,
        column: this.plan.numbers[place].mapping.source,
        value: `${values[i]} ${unit}`,
        reason: `This ${role} is outside ${min} to ${max} ${unit}`,
        expected: `Check the unit (--units ${role}=UNIT) and the column, or take the row out`,
      });
    }
  }

  private timeBackwards(line: number, timeS: number, beforeS: number): RefusedFile {
    return new RefusedFile({
      code: 'time-backwards',
      row: line,
      column: this.plan.numbers[0].mapping.source,
      value: `${timeS} s`,
      reason: `Time runs backwards, from ${beforeS} s in the row before`,
      expected:
        'Time must not decrease within a run (two rows with the same time are allowed); ' +
        'where the file holds several runs, name the column that tells them apart with --run-column NAME; where its time ' +
        'starts again within a run, say how the segments follow each other with --join-segments',
    });
  }
}

/** The current in less the current out, each by its size; an empty field is zero current. */
function joinCurrents(
  { values, stride, decimals }: RowBlock,
  { chargeAt, dischargeAt }: { chargeAt: number; dischargeAt: number },
  count: number,
): void {
  const size = (value: number): number => (Number.isNaN(value) ? 0 : Math.abs(value));
  decimals[chargeAt] = -1;
  for (let i = 0; i < count; i++) {
    const [charge, discharge] = [values[chargeAt * stride + i], values[dischargeAt * stride + i]];
    // Where both are empty there is no current to be had, and the row is refused.
    values[chargeAt * stride + i] =
      Number.isNaN(charge) && Number.isNaN(discharge) ? Number.NaN : size(charge) - size(discharge);
  }
}
