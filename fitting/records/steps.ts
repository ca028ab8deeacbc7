import { medianOf, secondDifferenceNoise } from '../numeric/index.ts';
import { type ClassifiedRange, classifySegment, settledCurrent } from './classifySegment.ts';
import { type CurrentScale, currentScale } from './currentScale.ts';
import { joinTapers } from './joinTapers.ts';
import { type RecordColumns, recordStretches } from './record.ts';
import { currentResolution, stepOfLevels, voltageResolution } from './resolution.ts';
import { joinSettling } from './settlingCurrent.ts';
import type { Step } from './step.ts';
import { cutRecord, loadSign, type Segment } from './stepCuts.ts';
import { unansweredCurrent, voltageReading } from './voltageAnswer.ts';

/** The steps of a record and what was learnt about its columns on the way. */
export interface StepFinding {
  readonly steps: readonly Step[];
  readonly scale: CurrentScale;
  /** Step of the current's levels in A where its readings never flip between two; 0 where they do, or none is visible. */
  readonly levelStepA: number;
  /** Quantisation of the voltage column in V, 0 where none is visible. */
  readonly voltageResolutionV: number;
  /** Noise of one voltage reading in V, not below what the quantisation brings (step/√12). */
  readonly voltageNoiseV: number;
  /** Rows with a single current reading that the voltage did not answer: left out of the steps' judgement. */
  readonly spikeRows: readonly number[];
  /** Rows where the current starts, ends or turns while the instrument's step number stays the same. */
  readonly contradictedRows: readonly number[];
}

/**
 * Finds the steps of a record from time, voltage and current alone; a step column, where there is one, only
 * decides what the current leaves open.
 *
 * The edges: a first or last reading taken while the current still moves belongs to the step that follows; a
 * pulse cut short to one reading is a step of its own; a single reading that the voltage does not answer is
 * none; a rest on both sides of a gap is two rests; a clock restart and a gap always end a step. Every row
 * belongs to exactly one step.
 *
 * @throws RangeError where the record is unfit (see `recordStretches`)
 */
export function findSteps(record: RecordColumns): StepFinding {
  const stretches = recordStretches(record);
  const voltageResolutionV = voltageResolution(record.voltageV);
  const estimated = currentScale(record, currentResolution(record.currentA));
  const found = cutRecord(record, stretches, estimated);
  const everyRow = secondDifferenceNoise(record.voltageV, () => true);
  const reading = voltageReading(Math.max(everyRow, voltageResolutionV / Math.sqrt(12)), voltageResolutionV);
  const silentA = unansweredCurrent(record, found, estimated, reading);
  const scale = silentA === null ? estimated : withRestUpTo(record, estimated, silentA);
  const resting = (row: number): boolean => loadSign(record.currentA[row], scale) === 0;
  const rawNoiseV = secondDifferenceNoise(
    record.voltageV,
    (i) => resting(i - 1) && resting(i) && resting(i + 1),
  );
  const voltageNoiseV = Math.max(rawNoiseV, voltageResolutionV / Math.sqrt(12));
  const cuts = silentA === null ? found : cutRecord(record, stretches, scale);
  const spikeRows: number[] = [];
  const calm = absorbSpikes(record, cuts, scale, voltageNoiseV, voltageResolutionV, spikeRows);
  const settled = absorbTransitions(record, joinSettling(record, calm, scale), scale);
  const joined = joinStaircases(record, settled, scale);
  return {
    steps: joinTapers(record, buildSteps(record, joined, scale, voltageResolutionV), voltageResolutionV),
    scale,
    levelStepA: scale.resolutionA > 0 || scale.loadNoiseA > 0 ? 0 : stepOfLevels(record.currentA),
    voltageResolutionV,
    voltageNoiseV,
    spikeRows,
    contradictedRows: contradictions(record, joined, scale),
  };
}

/** The scale with all currents up to `silentA` from the offset taken for rest, and the offset estimated from them. */
function withRestUpTo(record: RecordColumns, scale: CurrentScale, silentA: number): CurrentScale {
  const offset = scale.restOffsetA ?? 0;
  const rests = record.currentA.filter((current) => Math.abs(current - offset) <= silentA).sort();
  const restOffsetA = medianOf(rests);
  const farthestA = Math.max(restOffsetA - rests[0], rests[rests.length - 1] - restOffsetA);
  return { ...scale, restA: Math.max(scale.restA, 1.001 * farthestA), restOffsetA };
}

/** True where `segment` follows its predecessor without gap or restart. */
const follows = (segment: Segment | undefined): boolean =>
  segment !== undefined && (segment.cause === 'current' || segment.cause === 'recorded-step');

function absorbSpikes(
  record: RecordColumns,
  segments: readonly Segment[],
  scale: CurrentScale,
  noiseV: number,
  resolutionV: number,
  spikeRows: number[],
): Segment[] {
  const kept: Segment[] = [];
  for (let s = 0; s < segments.length; s++) {
    const segment = segments[s];
    const next = segments[s + 1];
    const previous = kept[kept.length - 1];
    const row = segment.start;
    const single = segment.end - row === 1 && follows(segment) && follows(next) && previous !== undefined;
    if (single && loadSign(record.currentA[row], scale) !== 0) {
      const before = record.currentA[row - 1];
      const after = record.currentA[row + 1];
      const sameAround = Math.abs(before - after) <= Math.max(scale.restA, 0.02 * Math.abs(before));
      // While a voltage is held it answers no current: a reading on its way from one neighbour to the other is not a spike.
      const here = record.currentA[row];
      const beyond = Math.max(here - Math.max(before, after), Math.min(before, after) - here);
      const expected = (record.voltageV[row - 1] + record.voltageV[row + 1]) / 2;
      const moved = Math.abs(record.voltageV[row] - expected);
      if (sameAround && beyond > scale.restA && moved <= Math.max(5 * noiseV, 1.5 * resolutionV)) {
        spikeRows.push(row);
        kept[kept.length - 1] = { ...previous, end: next.end };
        s++;
        continue;
      }
    }
    kept.push(segment);
  }
  return kept;
}

/** Most rows of a current on its way from one level to the next. */
const LONGEST_TRANSITION = 5;
/**
 * Share of a step by which a source's current may pass its level at the edge. Common practice, no source. `joinSettling` sees it only
 * where the level comes within seconds; rows further apart are left to this.
 */
const OVERSHOOT = 0.25;
/** Rows that a level lasts at least beside those that passed it. */
const LEVEL_ROWS = 3;

/**
 * A few rows between two levels, taken while the current still moves, go to the step that follows: up to five
 * on the way to a larger current, one or two on the way to a smaller one (more of them are a taper). So do one or two
 * rows in which the current passes the level that it then keeps.
 */
function absorbTransitions(
  record: RecordColumns,
  segments: readonly Segment[],
  scale: CurrentScale,
): Segment[] {
  const level = (segment: Segment): number =>
    loadSign(record.currentA[segment.start], scale) === 0 ? 0 : settledCurrent(record.currentA, segment);
  const kept: Segment[] = [];
  let pending: Segment | null = null;
  for (let s = 0; s < segments.length; s++) {
    const segment = segments[s];
    const next = segments[s + 1];
    const previous = kept[kept.length - 1];
    const start: number = (pending ?? segment).start;
    const few = segment.end - segment.start <= 2 && segment.end - start <= LONGEST_TRANSITION;
    if (few && previous && follows(segment) && follows(next)) {
      const here = level(segment);
      const from = level(previous);
      const to = level(next);
      const passed = (here - to) * Math.sign(to - from);
      const lasts = next.end - next.start >= LEVEL_ROWS * (segment.end - segment.start);
      if (pending === null && passed > 0 && passed <= OVERSHOOT * Math.abs(to - from) && lasts) {
        pending = { ...segment };
        continue;
      }
      const between = here > Math.min(from, to) && here < Math.max(from, to);
      const growing = Math.abs(to) > Math.abs(here);
      const clear = pending === null && previous.end - previous.start > 2 && next.end - next.start > 2;
      if (between && here !== 0 && (growing || clear)) {
        pending = { ...(pending ?? segment), end: segment.end };
        continue;
      }
    }
    kept.push(pending === null ? segment : { ...segment, ...pending, end: segment.end });
    pending = null;
  }
  return kept;
}

/**
 * Short segments of one sign with steadily shrinking or growing current are one changing stretch (a coarsely
 * sampled taper).
 */
function joinStaircases(record: RecordColumns, segments: readonly Segment[], scale: CurrentScale): Segment[] {
  const kept: Segment[] = [];
  let stairs = false;
  for (const segment of segments) {
    const previous = kept[kept.length - 1];
    const sign = loadSign(record.currentA[segment.start], scale);
    const joins: boolean =
      previous !== undefined &&
      segment.cause === 'current' &&
      sign !== 0 &&
      sign === loadSign(record.currentA[previous.end - 1], scale) &&
      segment.end - segment.start <= 3 &&
      (stairs || previous.end - previous.start <= 3);
    if (joins) kept[kept.length - 1] = { ...previous, end: segment.end };
    else kept.push(segment);
    stairs = joins;
  }
  return kept;
}

function buildSteps(
  record: RecordColumns,
  segments: readonly Segment[],
  scale: CurrentScale,
  voltageResolutionV: number,
): Step[] {
  const steps: Step[] = [];
  for (const segment of segments) {
    const level = { start: segment.settledFrom ?? segment.start, end: segment.end };
    classifySegment(record, level, scale, voltageResolutionV).forEach((found: ClassifiedRange, part) => {
      const range = part === 0 ? { ...found, start: segment.start } : found;
      const previous = steps[steps.length - 1];
      const bothRest = range.kind === 'rest' && previous?.kind === 'rest';
      if (part === 0 && follows(segment) && bothRest) {
        steps[steps.length - 1] = { ...previous, end: range.end };
        return;
      }
      steps.push({
        kind: range.kind,
        start: range.start,
        end: range.end,
        currentA: settledCurrent(record.currentA, found),
        gapBeforeS: part === 0 ? segment.gapBeforeS : 0,
        clockRestarted: part === 0 && segment.cause === 'restart',
      });
    });
  }
  return steps;
}

function contradictions(record: RecordColumns, segments: readonly Segment[], scale: CurrentScale): number[] {
  const { step, currentA } = record;
  if (step === undefined) return [];
  return segments
    .filter((segment) => segment.cause === 'current' && segment.start > 0)
    .map((segment) => segment.start)
    .filter((row) => {
      const turned = loadSign(currentA[row], scale) !== loadSign(currentA[row - 1], scale);
      const around = step.subarray(Math.max(0, row - 2), Math.min(step.length, row + 2));
      return turned && around.every((value) => value === around[0]);
    });
}
