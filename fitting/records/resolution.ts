const sampleLimit = 20_000;

/**
 * The step in which a column of readings moves (its quantisation), or 0 where no step is visible.
 *
 * The smallest differences between neighbouring rows propose a step; it is taken when at least four fifths of
 * all non-zero differences are whole multiples of it (to 15 % of a step, because readings are often rounded
 * once more in print) and the step repeats.
 */
export function columnResolution(values: Float64Array): number {
  const differences: number[] = [];
  const stride = Math.max(1, Math.floor(values.length / sampleLimit));
  for (let i = 1; i < values.length; i += stride) {
    const difference = Math.abs(values[i] - values[i - 1]);
    if (difference > 1e-12) differences.push(difference);
  }
  if (differences.length < 8) return 0;
  const step = Float64Array.from(differences).sort()[Math.floor(differences.length * 0.02)];
  let multiples = 0;
  let small = 0;
  for (const difference of differences) {
    const ratio = difference / step;
    if (ratio > 6) continue;
    small++;
    if (Math.abs(ratio - Math.round(ratio)) <= 0.15 && ratio > 0.8) multiples++;
  }
  return small >= 8 && multiples >= 0.8 * small ? step : 0;
}

/** Below this share of the largest current a step is an instrument's; no programme has levels that close. */
const CLOSEST_LEVELS = 0.01;
/** Rows for which a reading that flips by one step stays, at most, in the median. */
const LONGEST_FLIP = 4;

/**
 * The quantisation of a current column in A, or 0 where none is visible. A log that writes the programmed current has only
 * a few levels, whose differences would pass for quantisation and every load for a rest: a step that is not small
 * against the largest current counts only where the readings flip by it, and not where they stay on their level.
 */
export function currentResolution(currentA: Float64Array): number {
  const step = columnResolution(currentA);
  let largest = 0;
  for (const current of currentA) largest = Math.max(largest, Math.abs(current));
  if (step <= CLOSEST_LEVELS * largest) return step;
  const stays: number[] = [];
  for (let i = 1, since = 0; i < currentA.length; i++) {
    if (Math.abs(currentA[i] - currentA[i - 1]) <= 1e-12) continue;
    stays.push(i - since);
    since = i;
  }
  stays.sort((a, b) => a - b);
  return stays[stays.length >> 1] <= LONGEST_FLIP ? step : 0;
}

/** A step coarser than this share of the largest reading is a programmed level rather than a resolution. */
const COARSEST_PRINTED = 0.005;

/**
 * The coarsest of the steps 1, 2 and 5 times a power of ten that all readings are whole multiples of, at most half a percent
 * of the largest reading. A column whose readings never move between neighbouring rows shows its resolution here only.
 * Trailing zeros are not in a number: a reading of 2.5 may have been written as 2.50 or 2.500.
 *
 * @returns 0 where the readings have more than seven decimals
 */
export function printedStep(values: Float64Array): number {
  let largest = 0;
  for (const value of values) largest = Math.max(largest, Math.abs(value));
  if (largest === 0) return 0;
  const stride = Math.max(1, Math.floor(values.length / sampleLimit));
  const fits = (step: number): boolean => {
    for (let i = 0; i < values.length; i += stride) {
      const ratio = values[i] / step;
      if (Math.abs(ratio - Math.round(ratio)) > 1e-6) return false;
    }
    return true;
  };
  const coarsest = COARSEST_PRINTED * largest * (1 + 1e-9);
  for (let decade = Math.floor(Math.log10(coarsest)); decade >= -7; decade--) {
    const found = [5, 2, 1]
      .map((digit) => digit * 10 ** decade)
      .find((step) => step <= coarsest && fits(step));
    if (found !== undefined) return found;
  }
  return 0;
}

/** Fewest changes between neighbouring rows that show a column's step. */
const FEWEST_CHANGES = 8;

/** The quantisation of a voltage column in V; where it hardly ever changes, the step that its printed readings keep to. */
export function voltageResolution(voltageV: Float64Array): number {
  const step = columnResolution(voltageV);
  if (step > 0) return step;
  let changes = 0;
  for (let i = 1; i < voltageV.length && changes < FEWEST_CHANGES; i++) {
    if (Math.abs(voltageV[i] - voltageV[i - 1]) > 1e-12) changes++;
  }
  return changes < FEWEST_CHANGES ? printedStep(voltageV) : 0;
}

/** Levels from which on a current column is not one of programmed levels, and steps that the largest level may have. */
const MOST_LEVELS = 40;
const STEPS_OF_LEVEL = { fewest: 50, most: 2000 };
/** Share of a step within which a level is a multiple of it. */
const MULTIPLE = 1e-3;

/**
 * The step that all levels of a current column without any noise are multiples of, in A: an instrument that rounds shows so where
 * no reading ever flips. Levels in the ratio of small numbers were programmed and say nothing.
 *
 * @returns 0 where there is no such step
 */
export function stepOfLevels(currentA: Float64Array): number {
  const levels = new Set<number>();
  for (const current of currentA) {
    const size = Math.abs(current);
    if (size > 1e-9) levels.add(size);
    if (levels.size > MOST_LEVELS) return 0;
  }
  if (levels.size < 2) return 0;
  const sizes = [...levels];
  const largest = Math.max(...sizes);
  for (let k = 1; k <= STEPS_OF_LEVEL.most; k++) {
    const step = largest / k;
    const fits = sizes.every((size) => Math.abs(size / step - Math.round(size / step)) <= MULTIPLE);
    if (fits) return k >= STEPS_OF_LEVEL.fewest ? step : 0;
  }
  return 0;
}
