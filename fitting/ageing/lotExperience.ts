import { MAD_TO_STANDARD_DEVIATION, medianOf } from '../numeric/index.ts';

/** One finished cell at the moment it is compared at, or the young cell now. */
export interface ExperienceCase {
  readonly cell: string;
  /** ln(life / age then); NaN for the young cell. */
  readonly response: number;
  /** What is known then: one value a predictor feature. */
  readonly features: readonly number[];
}

/** A way to foretell ln(life / age) of the young cell from finished ones, with its errors on those, each left out in turn. */
export interface LotPredictor {
  readonly value: number;
  /** By cell: response − prediction without that cell. */
  readonly errors: ReadonlyMap<string, number>;
  /** How much larger the error is to be expected for the young cell than for the finished ones: at least 1. */
  readonly stretch: number;
}

/** The finished cells' answer: middle, and the errors it would have made on each of them. */
export interface CombinedExperience {
  readonly value: number;
  readonly errors: readonly number[];
  readonly cells: readonly string[];
}

/** A predictor's weight falls with this power of its error. */
const WEIGHT_POWER = 8;
/** A feature farther from the finished cells' than this share of their range is taken as if it lay there. */
const OUTSIDE_RANGE = 0.5;

/** The median of the responses. */
export function medianPredictor(cases: readonly ExperienceCase[]): LotPredictor {
  const responses = cases.map((c) => c.response);
  const errors = new Map(
    cases.map((c, i) => [c.cell, c.response - medianOf(responses.filter((_, j) => j !== i))]),
  );
  return { value: medianOf(responses), errors, stretch: 1 };
}

/** A straight line of the response on one feature; errors by the leverages. */
export function linePredictor(
  cases: readonly ExperienceCase[],
  young: readonly number[],
  feature: number,
): LotPredictor {
  const n = cases.length;
  const x = cases.map((c) => c.features[feature]);
  const meanX = x.reduce((sum, value) => sum + value, 0) / n;
  const meanY = cases.reduce((sum, c) => sum + c.response, 0) / n;
  const sxx = x.reduce((sum, value) => sum + (value - meanX) ** 2, 0);
  const sxy = cases.reduce((sum, c, i) => sum + (x[i] - meanX) * (c.response - meanY), 0);
  const slope = sxx > 0 ? sxy / sxx : 0;
  const leverage = (value: number): number => 1 / n + (sxx > 0 ? (value - meanX) ** 2 / sxx : 0);
  const [least, most] = [Math.min(...x), Math.max(...x)];
  const beyond = OUTSIDE_RANGE * (most - least);
  const at = Math.min(Math.max(young[feature], least - beyond), most + beyond);
  const errors = new Map(
    cases.map((c, i) => [
      c.cell,
      (c.response - meanY - slope * (x[i] - meanX)) / Math.max(1 - leverage(x[i]), 0.05),
    ]),
  );
  const stretch = Math.max(1, Math.sqrt((1 + leverage(at)) / (1 + 2 / n)));
  return { value: meanY + slope * (at - meanX), errors, stretch };
}

/**
 * Joins predictors by how small their errors on the finished cells are, each cell left out of what foretells it (stacking, D. H. Wolpert,
 * Neural Networks 5 (1992) 241). The errors of the joined predictor are kept for each cell.
 */
export function combine(predictors: readonly LotPredictor[]): CombinedExperience {
  const weights = predictors.map(({ errors }) => {
    const values = [...errors.values()];
    const spread = Math.max(errorSpread(values), 1e-3);
    return spread ** -WEIGHT_POWER;
  });
  const total = weights.reduce((sum, w) => sum + w, 0);
  const value = predictors.reduce((sum, p, k) => sum + (weights[k] / total) * p.value, 0);
  const stretch = predictors.reduce((sum, p, k) => sum + (weights[k] / total) * p.stretch, 0);
  const cells = [...new Set(predictors.flatMap(({ errors }) => [...errors.keys()]))];
  const errors = cells.map((cell) => {
    let sum = 0;
    let held = 0;
    predictors.forEach((p, k) => {
      const error = p.errors.get(cell);
      if (error === undefined) return;
      sum += weights[k] * error;
      held += weights[k];
    });
    return (stretch * sum) / held;
  });
  return { value, errors, cells };
}

/** Mean of the standard deviation and of the scaled median absolute error: one odd cell does not set the spread alone. */
export function errorSpread(errors: readonly number[]): number {
  const square = Math.sqrt(errors.reduce((sum, e) => sum + e * e, 0) / errors.length);
  return (square + MAD_TO_STANDARD_DEVIATION * medianOf(errors.map(Math.abs))) / 2;
}
