import {
  ANDERSON_DARLING_CRITICAL_05,
  andersonDarling,
  coverageOfExtremes,
  normalToleranceLimits,
  orderToleranceLimits,
  toleranceRank,
} from '../../../fitting/statistics/index.ts';
import type { ColumnStatistics } from '../../contract/lots.ts';
import type { Specification } from './lotValue.ts';

/** What tolerance limits are to hold, and how surely. */
export interface ToleranceQuestion {
  /** Share of all cells, between 0 and 1. */
  readonly coverage: number;
  readonly confidence: number;
}

/** 99 % of all cells with 95 % confidence, as is usual; common practice. */
export const USUAL_TOLERANCE: ToleranceQuestion = { coverage: 0.99, confidence: 0.95 };
/** With fewer values the distribution cannot be tested, and the limits would lie far beyond any use. */
const LEAST_VALUES = 8;

/**
 * Between which values the cells of such a lot lie, the unmeasured ones too. On the side that the specification limits
 * only, where it limits one. Where the values are not normal, from the ordered values alone; if these are too few for the
 * usual coverage, with the coverage that their extremes do hold.
 *
 * @param values without the outliers, which are judged one by one
 * @param leftOut how many outliers were left out
 */
export function toleranceOf(
  values: readonly number[],
  { lower, upper }: Specification,
  leftOut: number,
  { coverage, confidence }: ToleranceQuestion = USUAL_TOLERANCE,
): ColumnStatistics['tolerance'] {
  const side = (lower === null) === (upper === null) ? 'both' : lower === null ? 'upper' : 'lower';
  const question = { side, coverage, confidence } as const;
  if (values.length < LEAST_VALUES) {
    const none = { lower: null, upper: null, reason: 'too-few-values' };
    return { coverage, confidence, ...none, method: 'normal', leftOut };
  }
  const { adjusted } = andersonDarling(values);
  if (adjusted === null || adjusted <= ANDERSON_DARLING_CRITICAL_05) {
    return { ...normalToleranceLimits(values, question), method: 'normal', leftOut };
  }
  const enough = toleranceRank(values.length, question) > 0;
  // A hair below what the extremes hold, so that rounding cannot ask for more than they do.
  const held = enough ? coverage : coverageOfExtremes(values.length, question) - 1e-9;
  return {
    ...orderToleranceLimits(values, { ...question, coverage: held }),
    method: 'ordered-values',
    leftOut,
  };
}
