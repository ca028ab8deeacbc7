import {
  blockRows,
  chunkVersion,
  deltaFlag,
  extendedFlag,
  headerBytes,
  maxInteger,
  maxScale,
  negativeZeroFlag,
  powersOfTen,
  rawWidth,
  restartFlag,
} from './layout.ts';
import { packDeltas, packOffsets, packWide, smallInteger } from './packBits.ts';

const zeroMaskWords = blockRows / 32;
const rawBlockWords = blockRows * 2;
/** A mode byte, an extension byte and two variable-length integers of up to eight bytes. */
const maxControlBytes = 20;

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
  private words = new Uint32Array(1024);
  private wordCount = 0;
  private control = new Uint8Array(256);
  private controlCount = 0;
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
    const padded = (this.controlCount + 3) & ~3;
    const data = new Uint8Array(headerBytes + padded + this.wordCount * 4);
    const header = new DataView(data.buffer);
    header.setUint8(0, chunkVersion);
    header.setUint32(4, this.rowCount, true);
    header.setUint32(8, this.controlCount, true);
    data.set(this.control.subarray(0, this.controlCount), headerBytes);
    data.set(new Uint8Array(this.words.buffer, 0, this.wordCount * 4), headerBytes + padded);
    const packed = { data, rowCount: this.rowCount, min: this.min, max: this.max };
    this.rowCount = 0;
    this.pendingCount = 0;
    this.wordCount = 0;
    this.controlCount = 0;
    this.scale = 0;
    this.previous = 0;
    this.restart = true;
    this.min = Number.POSITIVE_INFINITY;
    this.max = Number.NEGATIVE_INFINITY;
    return packed.min <= packed.max ? packed : { ...packed, min: 1, max: 0 };
  }

  private block(values: Float64Array, at: number, count: number): void {
    this.reserve();
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

  /** Index of the first value that is no integer at this scale, or -1. */
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
    this.reserve();
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
    const { control } = this;
    control[this.controlCount++] = width | (useDelta ? deltaFlag : 0) | (extended ? extendedFlag : 0);
    if (extended) {
      control[this.controlCount++] =
        this.scale | (fresh ? restartFlag : 0) | (this.hasNegativeZero ? negativeZeroFlag : 0);
    }
    let previous = this.previous;
    if (fresh) {
      previous = this.integers[0];
      this.writeInteger(previous);
    }
    this.writeInteger(useDelta ? this.lowDelta : this.low - previous);
    if (this.hasNegativeZero) this.writeZeroMask(values, at, count);
    if (width > 0) {
      this.wordCount =
        source === null
          ? packWide(
              this.words,
              this.wordCount,
              this.integers,
              count,
              width,
              useDelta ? previous : null,
              useDelta ? this.lowDelta : this.low,
            )
          : useDelta
            ? packDeltas(this.words, this.wordCount, source, sourceAt, count, width, previous, this.lowDelta)
            : packOffsets(this.words, this.wordCount, source, sourceAt, count, width, this.low);
    }
    this.restart = false;
    const factor = powersOfTen[this.scale];
    if (this.low / factor < this.min) this.min = this.low / factor;
    if (this.high / factor > this.max) this.max = this.high / factor;
    return true;
  }

  private rawBlock(values: Float64Array, at: number, count: number): void {
    this.control[this.controlCount++] = rawWidth;
    for (let i = 0; i < count; i++) {
      const value = values[at + i];
      this.rawValues[i] = value;
      if (value < this.min) this.min = value;
      if (value > this.max) this.max = value;
    }
    this.words.set(this.rawWords.subarray(0, count * 2), this.wordCount);
    this.wordCount += count * 2;
  }

  private writeZeroMask(values: Float64Array, at: number, count: number): void {
    this.zeroMask.fill(0);
    for (let i = 0; i < count; i++) {
      if (Object.is(values[at + i], -0)) this.zeroMask[i >>> 5] |= 1 << (i & 31);
    }
    this.words.set(this.zeroMask, this.wordCount);
    this.wordCount += zeroMaskWords;
  }

  /** A signed integer below 2^53 in size: sign in the lowest bit, seven bits a byte, least significant first. */
  private writeInteger(value: number): void {
    let rest = value < 0 ? -2 * value - 1 : 2 * value;
    while (rest >= 128) {
      const upper = Math.floor(rest / 128);
      this.control[this.controlCount++] = rest - upper * 128 + 128;
      rest = upper;
    }
    this.control[this.controlCount++] = rest;
  }

  private reserve(): void {
    if (this.wordCount + rawBlockWords + zeroMaskWords > this.words.length) {
      const grown = new Uint32Array(2 * this.words.length);
      grown.set(this.words.subarray(0, this.wordCount));
      this.words = grown;
    }
    if (this.controlCount + maxControlBytes > this.control.length) {
      const grown = new Uint8Array(2 * this.control.length);
      grown.set(this.control.subarray(0, this.controlCount));
      this.control = grown;
    }
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
