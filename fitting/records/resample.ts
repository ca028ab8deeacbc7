/** The first row whose time is not below `atS`; `timeS` must not decrease between `start` and `end`. */
export function rowAtOrAfter(timeS: Float64Array, atS: number, start = 0, end = timeS.length): number {
  let low = start;
  let high = end;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if (timeS[middle] < atS) low = middle + 1;
    else high = middle;
  }
  return low;
}

/**
 * Rows to draw so that a line through them looks as if every row had been drawn: of every one of `pixels` equal spans of
 * time the first, the lowest, the highest and the last row, in order, so that no peak is lost. Rows come block by block,
 * because a long record is not held as a whole; time must not decrease.
 */
export class DrawnRows {
  private readonly pixels: number;
  private readonly fromS: number;
  private readonly spanS: number;
  private readonly takesAll: boolean;
  private readonly found: number[] = [];
  private pixel = 0;
  /** Rows of the pixel at hand; −1 before its first. */
  private first = -1;
  private last = -1;
  private lowest = -1;
  private highest = -1;
  private least = Number.NaN;
  private greatest = Number.NaN;

  /**
   * @param whole rows of all blocks together, and the times of the first and last of them
   * @throws RangeError where `pixels` is below 1
   */
  constructor(pixels: number, whole: { count: number; fromS: number; toS: number }) {
    if (!(pixels >= 1)) throw new RangeError(`pixels is ${pixels}; at least 1 is needed`);
    this.pixels = Math.floor(pixels);
    this.fromS = whole.fromS;
    this.spanS = (whole.toS - whole.fromS) / this.pixels;
    this.takesAll = whole.count <= 4 * pixels;
  }

  /** The next rows; `firstRow` is the number of the first of them. */
  add(timeS: Float64Array, values: Float64Array, firstRow: number): void {
    for (let i = 0; i < timeS.length; i++) {
      const row = firstRow + i;
      if (this.takesAll) {
        this.found.push(row);
        continue;
      }
      while (this.pixel < this.pixels - 1 && !(timeS[i] < this.fromS + (this.pixel + 1) * this.spanS)) {
        this.endPixel();
        this.pixel++;
      }
      const value = values[i];
      if (this.first === -1) {
        this.first = this.lowest = this.highest = row;
        this.least = this.greatest = value;
      } else if (value < this.least) {
        this.lowest = row;
        this.least = value;
      } else if (value > this.greatest) {
        this.highest = row;
        this.greatest = value;
      }
      this.last = row;
    }
  }

  /** Ascending rows, at most 4 × pixels, or all where there are no more than that; to be asked once, after the last block. */
  rows(): Int32Array {
    this.endPixel();
    return Int32Array.from(this.found);
  }

  private endPixel(): void {
    const { first, found } = this;
    if (first === -1) return;
    const early = Math.min(this.lowest, this.highest);
    const late = Math.max(this.lowest, this.highest);
    found.push(first);
    if (early > first) found.push(early);
    if (late > early && late > first) found.push(late);
    if (this.last > Math.max(late, first)) found.push(this.last);
    this.first = -1;
  }
}
