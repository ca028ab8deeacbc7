import {
  blockRows,
  chunkVersion,
  deltaFlag,
  extendedFlag,
  headerBytes,
  negativeZeroFlag,
  powersOfTen,
  rawWidth,
  restartFlag,
  scaleMask,
  widthMask,
} from './layout.ts';

const rawWords = new Uint32Array(blockRows * 2);
const rawValues = new Float64Array(rawWords.buffer);

/** A chunk that is not what its header says: of another version, or damaged. */
export class DamagedChunk extends Error {
  constructor(reason: string) {
    super(`A stored chunk of samples cannot be read: ${reason}`);
    this.name = 'DamagedChunk';
  }
}

/** Number of rows in a chunk. */
export function packedRows(data: Uint8Array): number {
  if (data.length < headerBytes) throw new DamagedChunk(`it has only ${data.length} bytes`);
  if (data[0] !== chunkVersion) throw new DamagedChunk(`it has format ${data[0]}, not ${chunkVersion}`);
  return new DataView(data.buffer, data.byteOffset, data.length).getUint32(4, true);
}

/**
 * Unpacks a chunk into `into`, from place `at` on; every float64 as it was, bit for bit.
 *
 * @returns the number of rows
 * @throws DamagedChunk, or RangeError where `into` is too short
 */
export function unpackColumn(data: Uint8Array, into: Float64Array, at = 0): number {
  const rowCount = packedRows(data);
  if (at + rowCount > into.length) {
    throw new RangeError(`The chunk has ${rowCount} rows; there is room for ${into.length - at}`);
  }
  const aligned = data.byteOffset % 4 === 0 ? data : data.slice();
  const controlCount = new DataView(aligned.buffer, aligned.byteOffset, headerBytes).getUint32(8, true);
  const wordsAt = headerBytes + ((controlCount + 3) & ~3);
  if (wordsAt > aligned.length || (aligned.length - wordsAt) % 4 !== 0) {
    throw new DamagedChunk('its length does not fit its header');
  }
  const reader = new ChunkReader(
    aligned.subarray(headerBytes, headerBytes + controlCount),
    new Uint32Array(aligned.buffer, aligned.byteOffset + wordsAt, (aligned.length - wordsAt) >>> 2),
    into,
  );
  for (let row = 0; row < rowCount; row += blockRows) {
    reader.block(at + row, Math.min(blockRows, rowCount - row));
  }
  reader.checkEnd();
  return rowCount;
}

class ChunkReader {
  private readonly control: Uint8Array;
  private readonly words: Uint32Array;
  private readonly into: Float64Array;
  private controlAt = 0;
  private wordAt = 0;
  private scale = 0;
  private previous = 0;

  constructor(control: Uint8Array, words: Uint32Array, into: Float64Array) {
    this.control = control;
    this.words = words;
    this.into = into;
  }

  block(at: number, count: number): void {
    const mode = this.control[this.controlAt++];
    const width = mode & widthMask;
    if (width === rawWidth) {
      this.rawBlock(at, count);
      return;
    }
    const extension = (mode & extendedFlag) === 0 ? 0 : this.control[this.controlAt++];
    if ((mode & extendedFlag) !== 0) this.scale = extension & scaleMask;
    if ((extension & restartFlag) !== 0) this.previous = this.readInteger();
    const base = this.readInteger();
    const maskAt = this.wordAt;
    if ((extension & negativeZeroFlag) !== 0) this.wordAt += blockRows / 32;
    const end = this.wordAt + Math.ceil((count * width) / 32);
    if (!(width <= 32 && end <= this.words.length && this.scale < powersOfTen.length)) {
      throw new DamagedChunk('a block reaches beyond its end');
    }
    if ((mode & deltaFlag) !== 0) this.unpackDeltas(at, count, width, base);
    else this.unpackOffsets(at, count, width, this.previous + base);
    this.wordAt = end;
    if ((extension & negativeZeroFlag) !== 0) this.restoreZeros(at, count, maskAt);
  }

  checkEnd(): void {
    if (this.controlAt !== this.control.length || this.wordAt !== this.words.length) {
      throw new DamagedChunk('its blocks do not fill it');
    }
  }

  private unpackDeltas(at: number, count: number, width: number, lowDelta: number): void {
    const { words, into } = this;
    const factor = powersOfTen[this.scale];
    let previous = this.previous;
    if (width === 0) {
      for (let i = at; i < at + count; i++) {
        previous += lowDelta;
        into[i] = previous / factor;
      }
      this.previous = previous;
      return;
    }
    const mask = width === 32 ? -1 : (1 << width) - 1;
    let wordAt = this.wordAt;
    let word = words[wordAt] | 0;
    let used = 0;
    for (let i = at; i < at + count; i++) {
      let bits = word >>> used;
      used += width;
      if (used >= 32) {
        used -= 32;
        word = words[++wordAt] | 0;
        if (used > 0) bits |= word << (width - used);
      }
      previous += lowDelta + ((bits & mask) >>> 0);
      into[i] = previous / factor;
    }
    this.previous = previous;
  }

  private unpackOffsets(at: number, count: number, width: number, low: number): void {
    const { words, into } = this;
    const factor = powersOfTen[this.scale];
    if (width === 0) {
      into.fill(low / factor, at, at + count);
      this.previous = low;
      return;
    }
    const mask = width === 32 ? -1 : (1 << width) - 1;
    let wordAt = this.wordAt;
    let word = words[wordAt] | 0;
    let used = 0;
    let integer = low;
    for (let i = at; i < at + count; i++) {
      let bits = word >>> used;
      used += width;
      if (used >= 32) {
        used -= 32;
        word = words[++wordAt] | 0;
        if (used > 0) bits |= word << (width - used);
      }
      integer = low + ((bits & mask) >>> 0);
      into[i] = integer / factor;
    }
    this.previous = integer;
  }

  private rawBlock(at: number, count: number): void {
    const end = this.wordAt + count * 2;
    if (end > this.words.length) throw new DamagedChunk('a block reaches beyond its end');
    rawWords.set(this.words.subarray(this.wordAt, end));
    this.into.set(rawValues.subarray(0, count), at);
    this.wordAt = end;
  }

  private restoreZeros(at: number, count: number, maskAt: number): void {
    for (let i = 0; i < count; i++) {
      if ((this.words[maskAt + (i >>> 5)] & (1 << (i & 31))) !== 0) this.into[at + i] = -0;
    }
  }

  private readInteger(): number {
    let value = 0;
    let unit = 1;
    for (;;) {
      if (this.controlAt >= this.control.length) throw new DamagedChunk('its control bytes end too early');
      const byte = this.control[this.controlAt++];
      value += (byte & 127) * unit;
      if (byte < 128) break;
      unit *= 128;
    }
    return value % 2 === 1 ? -(value + 1) / 2 : value / 2;
  }
}
