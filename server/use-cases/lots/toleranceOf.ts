import { normalToleranceLimits, orderToleranceLimits } from '../../../fitting/statistics/toleranceLimits.ts';
import type { ColumnStatistics } from '../../contract/lots.ts';
import type { Specification } from './lotValue.ts';

/** What the limits hold and how surely: 99 % of all cells with 95 % confidence, as is usual; common practice. */
const COVERAGE = 0.99;
const CONFIDENCE = 0.95;

/**
 * Between which values the cells of such a lot lie, the unmeasured ones too. On the side that the specification limits
 * only, where it limits one; from the ordered values alone where the lot was found not to be normal.
 */
export function toleranceOf(
  values: readonly number[],
  { lower, upper }: Specification,
  normal: boolean | null,
): ColumnStatistics['tolerance'] {
  const side = (lower === null) === (upper === null) ? 'both' : lower === null ? 'upper' : 'lower';
  const question = { side, coverage: COVERAGE, confidence: CONFIDENCE } as const;
  const method = normal === false ? 'ordered-values' : 'normal';
  if (values.length < 2) {
    return {
      coverage: COVERAGE,
      confidence: CONFIDENCE,
      lower: null,
      upper: null,
      method,
      reason: 'too-few-values',
    };
  }
  const limits = normal === false ? orderToleranceLimits : normalToleranceLimits;
  return { ...limits(values, question), method };
}
