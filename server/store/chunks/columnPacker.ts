import { ChunkBuffer, rawBlockWords, zeroMaskWords } from './chunkBuffer.ts';
import {
  blockRows,
  deltaFlag,
  extendedFlag,
  maxInteger,
  maxScale,
  negativeZeroFlag,
  powersOfTen,
  rawWidth,
  restartFlag,
} from './layout.ts';
import { packDeltas, packOffsets, packWide, smallInteger } from './packBits.ts';

/** A finished chunk of one column. Where every value is NaN, `min` is above `max`. */
export interface PackedColumn {
  readonly data: Uint8Array;
  readonly rowCount: number;
  readonly min: number;
  readonly max: number;
}

/**
 * Packs one column of float64 as it comes in, and gives it out chunk by chunk. Every value comes back bit for bit.
 * The layout is described in FORMAT.md.
 */
export class ColumnPacker {
  rowCount = 0;
  private readonly chunk = new ChunkBuffer();
  /** Rows of a block that is not full yet. */
  private readonly pending = new Float64Array(blockRows);
  private pendingCount = 0;
  private readonly integers = new Float64Array(blockRows);
  private readonly rawWords = new Uint32Array(rawBlockWords);
  private readonly rawValues = new Float64Array(this.rawWords.buffer);
  private readonly zeroMask = new Uint32Array(zeroMaskWords);
  private scale = 0;
  private previous = 0;
  private restart = true;
  private min = Number.POSITIVE_INFINITY;
  private max = Number.NEGATIVE_INFINITY;
  // What `scaleBlock` found out about the block in `integers`.
  private low = 0;
  private high = 0;
  private lowDelta = 0;
  private highDelta = 0;
  private hasNegativeZero = false;

  /** Rows taken since the last `finish()`, the ones of an unfinished block included. */
  get size(): number {
    return this.rowCount + this.pendingCount;
  }

  /** Takes `values[from, to)`. */
  add(values: Float64Array, from: number, to: number): void {
    let at = from;
    if (this.pendingCount > 0) {
      const count = Math.min(blockRows - this.pendingCount, to - at);
      this.pending.set(values.subarray(at, at + count), this.pendingCount);
      this.pendingCount += count;
      at += count;
      if (this.pendingCount < blockRows) return;
      this.pendingCount = 0;
      this.block(this.pending, 0, blockRows);
    }
    for (; at + blockRows <= to; at += blockRows) this.block(values, at, blockRows);
    if (at < to) {
      this.pending.set(values.subarray(at, to));
      this.pendingCount = to - at;
    }
  }

  /**
   * As {@link add}, where every value is known to be `integers[i] / 10^decimals` and no −0. Packs the same bytes.
   */
  addIntegers(values: Float64Array, integers: Int32Array, from: number, to: number, decimals: number): void {
    let at = from;
    if (this.pendingCount > 0) {
      at = Math.min(to, from + blockRows - this.pendingCount);
      this.add(values, from, at);
    }
    for (; at + blockRows <= to; at += blockRows) {
      if (decimals !== this.scale || this.restart) {
        this.block(values, at, blockRows);
      } else {
        this.integerBlock(values, integers, at);
      }
    }
    if (at < to) this.add(values, at, to);
  }

  /** Closes the chunk and begins another. */
  finish(): PackedColumn {
    if (this.pendingCount > 0) this.block(this.pending, 0, this.pendingCount);
    const { rowCount, min, max } = this;
    const data = this.chunk.take(rowCount);
    this.rowCount = 0;
    this.pendingCount = 0;
    this.scale = 0;
    this.previous = 0;
    this.restart = true;
    this.min = Number.POSITIVE_INFINITY;
    this.max = Number.NEGATIVE_INFINITY;
    return min <= max ? { data, rowCount, min, max } : { data, rowCount, min: 1, max: 0 };
  }

  private block(values: Float64Array, at: number, count: number): void {
    this.chunk.reserve();
    this.rowCount += count;
    const before = this.scale;
    if (this.findScale(values, at, count) && this.packBlock(values, at, count, before, null, 0)) {
      this.previous = this.integers[count - 1];
      return;
    }
    this.scale = before;
    this.rawBlock(values, at, count);
  }

  /** Scales the block to integers, with more decimals where the present number of them does not do. */
  private findScale(values: Float64Array, at: number, count: number): boolean {
    const before = this.scale;
    for (;;) {
      const failed = this.scaleBlock(values, at, count, this.restart || this.scale !== before);
      if (failed < 0) return this.low > -maxInteger && this.high < maxInteger;
      let scale = this.scale + 1;
      while (scale <= maxScale && !isExact(values[failed], powersOfTen[scale])) scale++;
      if (scale > maxScale) return false;
      this.scale = scale;
    }
  }

  /** Index of the first value that is not an integer at this scale, or -1. */
  private scaleBlock(values: Float64Array, at: number, count: number, fresh: boolean): number {
    const { integers } = this;
    const factor = powersOfTen[this.scale];
    let last = fresh ? nearestInteger(values[at] * factor) : this.previous;
    let low = Number.POSITIVE_INFINITY;
    let high = Number.NEGATIVE_INFINITY;
    let lowDelta = Number.POSITIVE_INFINITY;
    let highDelta = Number.NEGATIVE_INFINITY;
    let negativeZero = false;
    for (let i = 0; i < count; i++) {
      const value = values[at + i];
      const integer = nearestInteger(value * factor);
      if (integer / factor !== value) return at + i;
      if (integer === 0 && Object.is(value, -0)) negativeZero = true;
      integers[i] = integer;
      const delta = integer - last;
      last = integer;
      if (integer < low) low = integer;
      if (integer > high) high = integer;
      if (delta < lowDelta) lowDelta = delta;
      if (delta > highDelta) highDelta = delta;
    }
    this.low = low;
    this.high = high;
    this.lowDelta = lowDelta;
    this.highDelta = highDelta;
    this.hasNegativeZero = negativeZero;
    return -1;
  }

  /** As `scaleBlock` and `packBlock`, for a full block of integers that are there already. */
  private integerBlock(values: Float64Array, source: Int32Array, at: number): void {
    let low = source[at];
    let high = low;
    let last = low;
    let lowDelta = smallInteger;
    let highDelta = -smallInteger;
    for (let i = at + 1; i < at + blockRows; i++) {
      const integer = source[i];
      const delta = (integer - last) | 0;
      last = integer;
      if (integer < low) low = integer;
      else if (integer > high) high = integer;
      if (delta < lowDelta) lowDelta = delta;
      if (delta > highDelta) highDelta = delta;
    }
    const first = source[at] - this.previous;
    if (low <= -smallInteger || high >= smallInteger || Math.abs(first) >= smallInteger) {
      this.block(values, at, blockRows);
      return;
    }
    this.chunk.reserve();
    this.rowCount += blockRows;
    this.low = low;
    this.high = high;
    this.lowDelta = Math.min(lowDelta, first);
    this.highDelta = Math.max(highDelta, first);
    this.hasNegativeZero = false;
    if (!this.packBlock(values, at, blockRows, this.scale, source, at)) this.rawBlock(values, at, blockRows);
    this.previous = source[at + blockRows - 1];
  }

  /** Writes the integers of a block; false where they are too far apart for 32 bits. */
  private packBlock(
    values: Float64Array,
    at: number,
    count: number,
    scaleBefore: number,
    source: Int32Array | null,
    sourceAt: number,
  ): boolean {
    const deltaWidth = widthOf(this.highDelta - this.lowDelta);
    const offsetWidth = widthOf(this.high - this.low);
    const useDelta = deltaWidth < offsetWidth;
    const width = useDelta ? deltaWidth : offsetWidth;
    if (width > 32) return false;
    const fresh = this.restart || this.scale !== scaleBefore;
    const extended = fresh || this.hasNegativeZero;
    const { chunk } = this;
    chunk.writeControl(width | (useDelta ? deltaFlag : 0) | (extended ? extendedFlag : 0));
    if (extended) {
      chunk.writeControl(
        this.scale | (fresh ? restartFlag : 0) | (this.hasNegativeZero ? negativeZeroFlag : 0),
      );
    }
    let previous = this.previous;
    if (fresh) {
      previous = this.integers[0];
      chunk.writeInteger(previous);
    }
    chunk.writeInteger(useDelta ? this.lowDelta : this.low - previous);
    if (this.hasNegativeZero) this.writeZeroMask(values, at, count);
    if (width > 0) {
      chunk.wordCount =
        source === null
          ? packWide(
              chunk.words,
              chunk.wordCount,
              this.integers,
              count,
              width,
              useDelta ? previous : null,
              useDelta ? this.lowDelta : this.low,
            )
          : useDelta
            ? packDeltas(
                chunk.words,
                chunk.wordCount,
                source,
                sourceAt,
                count,
                width,
                previous,
                this.lowDelta,
              )
            : packOffsets(chunk.words, chunk.wordCount, source, sourceAt, count, width, this.low);
    }
    this.restart = false;
    const factor = powersOfTen[this.scale];
    if (this.low / factor < this.min) this.min = this.low / factor;
    if (this.high / factor > this.max) this.max = this.high / factor;
    return true;
  }

  private rawBlock(values: Float64Array, at: number, count: number): void {
    this.chunk.writeControl(rawWidth);
    for (let i = 0; i < count; i++) {
      const value = values[at + i];
      this.rawValues[i] = value;
      if (value < this.min) this.min = value;
      if (value > this.max) this.max = value;
    }
    this.chunk.writeWords(this.rawWords.subarray(0, count * 2));
  }

  private writeZeroMask(values: Float64Array, at: number, count: number): void {
    this.zeroMask.fill(0);
    for (let i = 0; i < count; i++) {
      if (Object.is(values[at + i], -0)) this.zeroMask[i >>> 5] |= 1 << (i & 31);
    }
    this.chunk.writeWords(this.zeroMask);
  }
}

/** Rounding by adding and taking off 1.5 * 2^52: right for sizes below 2^51, and larger ones are refused later. */
function nearestInteger(value: number): number {
  return value + 6755399441055744 - 6755399441055744;
}

/** Bits that hold 0 … range; 33 where 32 do not do. */
function widthOf(range: number): number {
  return range > 0xffffffff ? 33 : 32 - Math.clz32(range);
}

function isExact(value: number, factor: number): boolean {
  const integer = nearestInteger(value * factor);
  return integer / factor === value && Math.abs(integer) < maxInteger;
}
