import { largestExactCost, type PointCosts } from './pairCosts.ts';

/** One feature of all cells, with its part in the cost. */
export interface CostFeature {
  /** One finite value per cell. */
  readonly values: Float64Array;
  /** Difference that counts as one, above zero, in the unit of the values. */
  readonly tolerance: number;
  /** Weight of the squared difference in tolerances, at least zero. */
  readonly importance: number;
  /** Largest acceptable difference, Infinity for none. */
  readonly limit: number;
}

/** Differences of decimal numbers miss a limit by a rounding; this much relative is forgiven. */
const LIMIT_ROUNDING = 1e-9;
/**
 * cost = Σ importance × (difference / tolerance)², rounded to whole multiples of `resolution`, a power of two. Pairs
 * outside a limit, and those listed as apart, are not acceptable.
 */
export class FeatureCosts implements PointCosts {
  readonly count: number;
  readonly largest: number;
  /** Cost of one unit of the whole numbers. */
  readonly resolution: number;
  /** Whether some pair may be unacceptable. */
  readonly limited: boolean;
  /** Features with a part in the cost, scaled so that the squared difference is that part in whole-number units. */
  private readonly scaled: readonly Float64Array[];
  /** Limit of each coordinate, a little above; Infinity where its feature has none. */
  readonly reach: Float64Array;
  /** Features with a limit: their values and the limit. */
  private readonly limits: readonly { values: Float64Array; limit: number }[];
  private readonly apart: ReadonlySet<number>;
  private readonly apartWith: ReadonlyMap<number, readonly number[]>;

  /**
   * @param apart pairs of cell indices that must not be.
   * @throws RangeError where lengths differ, a value is not finite, or a tolerance, importance or limit is out of range.
   */
  constructor(features: readonly CostFeature[], apart: readonly (readonly [number, number])[] = []) {
    checkFeatures(features);
    this.count = features[0].values.length;
    this.limits = features
      .filter((feature) => feature.limit < Infinity)
      .map(({ values, limit }) => ({ values, limit: limit * (1 + LIMIT_ROUNDING) }));
    this.limited = apart.length > 0 || this.limits.length > 0;
    const weighted = features.filter((feature) => feature.importance > 0);
    const weights = weighted.map(({ importance, tolerance }) => importance / tolerance ** 2);
    const most = weighted.reduce(
      (sum, { values, limit }, f) => sum + weights[f] * Math.min(range(values), limit * (1 + 1e-6)) ** 2,
      0,
    );
    const finest = largestExactCost(this.count) - 1;
    const scale = most > 0 ? 2 ** Math.floor(Math.log2(finest / most)) : 1;
    this.resolution = 1 / scale;
    this.largest = Math.ceil(most * scale) + 1;
    this.scaled = weighted.map(({ values }, f) => {
      // Taken from the first cell's value, because a difference of large numbers loses digits.
      const root = Math.sqrt(weights[f] * scale);
      return values.map((value) => root * (value - values[0]));
    });
    this.reach = Float64Array.from(
      weighted,
      ({ limit }, f) => limit * (1 + 1e-6) * Math.sqrt(weights[f] * scale),
    );
    const partners = new Map<number, number[]>();
    for (const [a, b] of apart) {
      partners.set(a, [...(partners.get(a) ?? []), b]);
      partners.set(b, [...(partners.get(b) ?? []), a]);
    }
    this.apartWith = partners;
    this.apart = new Set(apart.map(([a, b]) => Math.min(a, b) * this.count + Math.max(a, b)));
  }

  /** Whether a pair is within all limits, and not one of those that must not be. */
  isAcceptable(a: number, b: number): boolean {
    const { limits } = this;
    for (let f = 0; f < limits.length; f++) {
      const { values, limit } = limits[f];
      if (Math.abs(values[a] - values[b]) > limit) return false;
    }
    return this.apart.size === 0 || !this.apart.has(Math.min(a, b) * this.count + Math.max(a, b));
  }

  costOf(a: number, b: number): number {
    if (!this.isAcceptable(a, b)) return Infinity;
    const { scaled } = this;
    let sum = 0;
    for (let f = 0; f < scaled.length; f++) {
      const difference = scaled[f][a] - scaled[f][b];
      sum += difference * difference;
    }
    return Math.floor(sum + 0.5);
  }

  costsAfter(a: number, costs: Float64Array): void {
    const { scaled, count } = this;
    if (scaled.length === 2) roundedSquares(scaled[0], scaled[1], a, costs);
    else {
      costs.fill(0, a + 1);
      for (let f = 0; f < scaled.length; f += 2) {
        if (f + 1 < scaled.length) addSquares(scaled[f], scaled[f + 1], a, costs);
        else addSquare(scaled[f], a, costs);
      }
      for (let b = a + 1; b < count; b++) costs[b] = Math.floor(costs[b] + 0.5);
    }
    for (const { values, limit } of this.limits) {
      const own = values[a];
      for (let b = a + 1; b < count; b++) if (Math.abs(own - values[b]) > limit) costs[b] = Infinity;
    }
    for (const b of this.apartWith.get(a) ?? []) if (b > a) costs[b] = Infinity;
  }

  leastCost(squaredDistance: number): number {
    // Differs from the whole number by at most a half and a rounding.
    return squaredDistance * (1 - 1e-9) - 1;
  }

  /** Coordinates, point by point, whose squared distance is the unrounded cost in whole-number units. */
  coordinates(): { dimensions: number; points: Float64Array } {
    const dimensions = this.scaled.length;
    const points = new Float64Array(this.count * dimensions);
    this.scaled.forEach((column, d) => {
      for (let i = 0; i < this.count; i++) points[i * dimensions + d] = column[i];
    });
    return { dimensions, points };
  }
}

// The sums are formed in the order of the features, as in costOf, so that both give the same number.
function addSquare(column: Float64Array, a: number, sums: Float64Array): void {
  const own = column[a];
  for (let b = a + 1; b < column.length; b++) {
    const difference = own - column[b];
    sums[b] += difference * difference;
  }
}

function addSquares(first: Float64Array, second: Float64Array, a: number, sums: Float64Array): void {
  const ownFirst = first[a];
  const ownSecond = second[a];
  for (let b = a + 1; b < first.length; b++) {
    const one = ownFirst - first[b];
    const two = ownSecond - second[b];
    sums[b] = sums[b] + one * one + two * two;
  }
}

/** Two features, as most lots have, in one pass. */
function roundedSquares(first: Float64Array, second: Float64Array, a: number, costs: Float64Array): void {
  const ownFirst = first[a];
  const ownSecond = second[a];
  for (let b = a + 1; b < first.length; b++) {
    const one = ownFirst - first[b];
    const two = ownSecond - second[b];
    costs[b] = Math.floor(one * one + two * two + 0.5);
  }
}

function range(values: Float64Array): number {
  let low = Infinity;
  let high = -Infinity;
  for (const value of values) {
    low = Math.min(low, value);
    high = Math.max(high, value);
  }
  return values.length === 0 ? 0 : high - low;
}

function checkFeatures(features: readonly CostFeature[]): void {
  if (!features.some((feature) => feature.importance > 0))
    throw new RangeError('a cost needs at least one feature with an importance above zero');
  const count = features[0].values.length;
  features.forEach(({ values, tolerance, importance, limit }, f) => {
    if (values.length !== count)
      throw new RangeError(`feature ${f} has ${values.length} values, the first ${count}`);
    if (!(tolerance > 0 && Number.isFinite(tolerance)))
      throw new RangeError(`tolerance of feature ${f} is ${tolerance}; it must be above zero`);
    if (!(importance >= 0 && Number.isFinite(importance)))
      throw new RangeError(`importance of feature ${f} is ${importance}; it must be zero or more`);
    if (!(limit >= 0)) throw new RangeError(`limit of feature ${f} is ${limit}; it must be zero or more`);
    const bad = values.findIndex((value) => !Number.isFinite(value));
    if (bad !== -1) throw new RangeError(`feature ${f} of cell ${bad} is ${values[bad]}, not a number`);
  });
}
