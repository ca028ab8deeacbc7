import { blockRows, chunkVersion, headerBytes } from './layout.ts';

/** 32-bit words that say which zeros of a block are negative. */
export const zeroMaskWords = blockRows / 32;
/** 32-bit words of a block of raw float64. */
export const rawBlockWords = blockRows * 2;
/** A mode byte, an extension byte and two variable-length integers of up to eight bytes. */
const maxControlBytes = 20;

/** The bytes of one chunk while it is packed: control bytes and 32-bit words, which grow apart and are joined at the end. */
export class ChunkBuffer {
  words = new Uint32Array(1024);
  wordCount = 0;
  private control = new Uint8Array(256);
  private controlCount = 0;

  /** Makes room for one more block. */
  reserve(): void {
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

  writeControl(byte: number): void {
    this.control[this.controlCount++] = byte;
  }

  /** A signed integer below 2^53 in size: sign in the lowest bit, seven bits a byte, least significant first. */
  writeInteger(value: number): void {
    let rest = value < 0 ? -2 * value - 1 : 2 * value;
    while (rest >= 128) {
      const upper = Math.floor(rest / 128);
      this.control[this.controlCount++] = rest - upper * 128 + 128;
      rest = upper;
    }
    this.control[this.controlCount++] = rest;
  }

  writeWords(words: Uint32Array): void {
    this.words.set(words, this.wordCount);
    this.wordCount += words.length;
  }

  /** The finished chunk; the buffer is empty afterwards. */
  take(rowCount: number): Uint8Array {
    const padded = (this.controlCount + 3) & ~3;
    const data = new Uint8Array(headerBytes + padded + this.wordCount * 4);
    const header = new DataView(data.buffer);
    header.setUint8(0, chunkVersion);
    header.setUint32(4, rowCount, true);
    header.setUint32(8, this.controlCount, true);
    data.set(this.control.subarray(0, this.controlCount), headerBytes);
    data.set(new Uint8Array(this.words.buffer, 0, this.wordCount * 4), headerBytes + padded);
    this.wordCount = 0;
    this.controlCount = 0;
    return data;
  }
}
