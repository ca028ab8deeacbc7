import { medianOf, secondDifferenceNoise } from '../numeric/index.ts';
import type { RecordColumns } from '../records/index.ts';
import {
  type CurrentScale,
  columnResolution,
  currentResolution,
  currentScale,
  printedStep,
} from '../records/index.ts';
import { type QuantisedLevel, quantisedLevels } from './quantisedLevel.ts';

/** Noise and resolution of a record's voltage, and what counts as rest. */
export interface ReadingQuality {
  /** Noise of one voltage reading in V, not below what its resolution brings. */
  readonly voltageNoiseV: number;
  readonly voltageResolutionV: number;
  readonly restA: number;
}

/** A level of the current, with what is unknown about it. */
export interface CurrentLevel {
  readonly valueA: number;
  /** Standard deviation of a normal error; 0 where the error is within limits. */
  readonly normalA: number;
  /** Half-width of an error that lies anywhere within limits; 0 where the error is normal. */
  readonly withinA: number;
}

/** What a record's channels are good for, for counting charge. */
export interface CountingQuality extends ReadingQuality {
  readonly scale: CurrentScale;
  /** Level of the rests, which is taken off the current; null where too few readings rest. */
  readonly offset: CurrentLevel | null;
  /** Whether the offset is clear of its own uncertainty. */
  readonly offsetShows: boolean;
  /** White noise of one current reading under load, in A, without what the resolution brings. */
  readonly currentNoiseA: number;
  /** Step in which the current is written, in A; 0 where none is visible. */
  readonly currentStepA: number;
  /** What rounding does to the main level of the load; null where the readings are not stuck on a few steps. */
  readonly stuckLoad: StuckLoad | null;
  /** Resolution of the charge counter in Ah; null where the record has none. */
  readonly counterAh: number | null;
}

/** A load whose readings stay on a few steps of the instrument. */
export interface StuckLoad extends CurrentLevel {
  /** What is to be added to readings of this level. */
  readonly correctionA: number;
  readonly lowestA: number;
  readonly highestA: number;
}

/** Fewest readings in rest from which an offset of the channel is taken. */
const FEWEST_RESTS = 5;
/** Loaded rows below which a noise of the voltage is taken from the rests. */
const FEW_LOADED = 100;
/** Multiple of its standard error from which on an offset is one. */
const SIGNIFICANT = 4;
/**
 * Noise in steps from which on the mean of rounded readings is as good as unrounded ones. The median of rounded second
 * differences reads 0.6 steps for any noise that lets half of the readings leave their step, and then 1.2.
 */
const DITHERED = 0.7;

/** Noise, resolution, offset and rest level of a record. */
export function countingQuality(record: RecordColumns): CountingQuality {
  const { currentA, voltageV } = record;
  const scale = currentScale(record, currentResolution(currentA));
  const resting = (row: number): boolean => Math.abs(currentA[row] - (scale.restOffsetA ?? 0)) <= scale.restA;
  const rests: number[] = [];
  for (let row = 0; row < currentA.length; row++) if (resting(row)) rests.push(currentA[row]);
  const voltageResolutionV = Math.max(columnResolution(voltageV), printedStep(voltageV));
  const loadedNoiseV = secondDifferenceNoise(
    voltageV,
    (row) => !resting(row - 1) && !resting(row) && !resting(row + 1),
  );
  const restNoiseV = secondDifferenceNoise(
    voltageV,
    (row) => resting(row - 1) && resting(row) && resting(row + 1),
  );
  // Where a discharge has few rows, what its voltage bends by between them passes for noise.
  const bends = restNoiseV > 0 && currentA.length - rests.length < FEW_LOADED;
  const noiseV = bends ? Math.min(loadedNoiseV, 2 * restNoiseV) : loadedNoiseV;
  const noiseA = secondDifferenceNoise(
    currentA,
    (row) =>
      !resting(row) && alike(currentA[row - 1], currentA[row]) && alike(currentA[row], currentA[row + 1]),
  );
  const stepA = Math.max(scale.resolutionA, printedStep(currentA));
  const { offset, stuckLoad } = levels(rests, loadedReadings(currentA, resting), stepA, noiseA);
  const shows =
    offset !== null &&
    Math.abs(offset.valueA) > SIGNIFICANT * offset.normalA &&
    Math.abs(offset.valueA) > Math.max(offset.withinA, stepA / 2);
  return {
    scale,
    restA: Math.max(scale.restA, 0.01 * scale.largeA),
    voltageNoiseV: Math.max(noiseV, voltageResolutionV / Math.sqrt(12)),
    voltageResolutionV,
    offset,
    offsetShows: shows,
    currentNoiseA: noiseA,
    currentStepA: stepA,
    stuckLoad,
    counterAh: record.chargeAh === undefined ? null : columnResolution(record.chargeAh),
  };
}

const alike = (a: number, b: number): boolean => Math.abs(a - b) < 0.1 * Math.max(Math.abs(a), Math.abs(b));

function loadedReadings(currentA: Float64Array, resting: (row: number) => boolean): number[] {
  const found: number[] = [];
  for (let row = 0; row < currentA.length; row++) if (!resting(row)) found.push(currentA[row]);
  return found;
}

/**
 * The level of the rests and, where rounding keeps the load on a few steps, that of the load. The offset is always taken
 * off: a test of whether it is there would leave offsets just below its threshold in the charge.
 */
function levels(
  rests: readonly number[],
  loads: readonly number[],
  stepA: number,
  noiseA: number,
): { offset: CurrentLevel | null; stuckLoad: StuckLoad | null } {
  const main = stuckReadings(loads, stepA);
  const offset = rests.length < FEWEST_RESTS ? null : meanLevel(rests);
  const dithered = noiseA > DITHERED * stepA;
  if (stepA === 0 || dithered) return { offset, stuckLoad: null };
  const restStuck = offset !== null && Math.sqrt(variance(rests)) < 2 * stepA;
  const groups = [...(restStuck ? [rests] : []), ...(main === null ? [] : [main])];
  const found = quantisedLevels(groups, stepA);
  const [rest, load] = restStuck ? found : [undefined, found[0]];
  return {
    offset: rest === undefined ? offset : currentLevel(rest),
    stuckLoad:
      main === null || load === undefined
        ? null
        : {
            ...currentLevel(load),
            correctionA: load.level - mean(main),
            ...extremes(main),
          },
  };
}

/** The readings of the main level of a load, where they are few steps wide; else null. */
function stuckReadings(loads: readonly number[], stepA: number): number[] | null {
  if (loads.length === 0 || stepA === 0) return null;
  const middle = medianOf(loads);
  const near = loads.filter((value) => Math.abs(value - middle) < 2.5 * stepA);
  return near.length >= 0.3 * loads.length ? near : null;
}

function currentLevel({ level, standardUncertainty, flat }: QuantisedLevel): CurrentLevel {
  return {
    valueA: level,
    normalA: flat ? 0 : standardUncertainty,
    withinA: flat ? Math.sqrt(3) * standardUncertainty : 0,
  };
}

function meanLevel(values: readonly number[]): CurrentLevel {
  return { valueA: mean(values), normalA: Math.sqrt(variance(values) / values.length), withinA: 0 };
}

const mean = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;

function variance(values: readonly number[]): number {
  const middle = mean(values);
  return values.reduce((sum, value) => sum + (value - middle) ** 2, 0) / (values.length - 1);
}

function extremes(values: readonly number[]): { lowestA: number; highestA: number } {
  let [lowestA, highestA] = [Infinity, -Infinity];
  for (const value of values) {
    lowestA = Math.min(lowestA, value);
    highestA = Math.max(highestA, value);
  }
  return { lowestA, highestA };
}
