import { crc32, deflateSync, inflateSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { smallPng } from './smallPng.ts';

function chunk(type: string, data: Buffer): Buffer {
  const body = Buffer.concat([Buffer.from(type, 'latin1'), data]);
  const length = Buffer.alloc(4);
  length.writeUInt32BE(data.length);
  const sum = Buffer.alloc(4);
  sum.writeUInt32BE(crc32(body));
  return Buffer.concat([length, body, sum]);
}

describe('a small PNG', () => {
  it('shows the same colours where there are no more than 256, with a right checksum', () => {
    const head = Buffer.alloc(13);
    head.writeUInt32BE(2, 0);
    head.writeUInt32BE(2, 4);
    head.set([8, 2, 0, 0, 0], 8);
    // Second row with the "up" filter: the same red, then red + (0, 10, 0).
    const rows = Buffer.from([0, 200, 0, 0, 0, 0, 255, 2, 0, 0, 0, 0, 10, 0]);
    const png = Buffer.concat([
      Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]),
      chunk('IHDR', head),
      chunk('IDAT', deflateSync(rows)),
      chunk('IEND', Buffer.alloc(0)),
    ]);
    const small = smallPng(png);
    const at = (type: string) => {
      const start = small.indexOf(type, 0, 'latin1');
      const length = small.readUInt32BE(start - 4);
      const data = small.subarray(start + 4, start + 4 + length);
      expect(small.readUInt32BE(start + 4 + length)).toBe(crc32(small.subarray(start, start + 4 + length)));
      return data;
    };
    const palette = at('PLTE');
    const indices = inflateSync(at('IDAT'));
    const colour = (i: number) => [...palette.subarray(3 * indices[i], 3 * indices[i] + 3)];
    expect([1, 2, 4, 5].map(colour)).toEqual([
      [200, 0, 0],
      [0, 0, 255],
      [200, 0, 0],
      [0, 10, 255],
    ]);
  });

  it('refuses a picture that is no screenshot', () => {
    expect(() => smallPng(Buffer.alloc(40))).toThrow(/not what a screenshot is/);
  });
});
