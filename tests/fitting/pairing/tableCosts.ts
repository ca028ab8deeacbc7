import { largestExactCost, type PairCosts } from '../../../fitting/pairing/pairCosts.ts';

/** Costs given as a full table, row by row: for graphs that are not points in a space of features. */
export class TableCosts implements PairCosts {
  readonly count: number;
  readonly largest: number;
  private readonly table: Float64Array;

  /**
   * @param table count × count whole numbers, symmetric; Infinity forbids a pair. The diagonal is not read.
   * @throws RangeError naming the first entry that is not a whole number in range or not symmetric.
   */
  constructor(count: number, table: Float64Array) {
    if (table.length !== count * count)
      throw new RangeError(`a table of ${count} cells has ${count * count} entries, not ${table.length}`);
    const limit = largestExactCost(count);
    let largest = 0;
    for (let a = 0; a < count; a++) {
      for (let b = a + 1; b < count; b++) {
        const cost = table[a * count + b];
        if (cost !== table[b * count + a])
          throw new RangeError(`cost of cells ${a} and ${b} is not symmetric`);
        if (cost === Infinity) continue;
        if (!Number.isInteger(cost) || Math.abs(cost) > limit)
          throw new RangeError(
            `cost of cells ${a} and ${b} is ${cost}; whole numbers up to ${limit} are exact`,
          );
        largest = Math.max(largest, Math.abs(cost));
      }
    }
    this.count = count;
    this.largest = largest;
    this.table = table;
  }

  costOf(a: number, b: number): number {
    return this.table[a * this.count + b];
  }

  costsAfter(a: number, costs: Float64Array): void {
    const { table, count } = this;
    for (let b = a + 1; b < count; b++) costs[b] = table[a * count + b];
  }
}
