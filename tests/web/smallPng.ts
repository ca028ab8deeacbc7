import { crc32, deflateSync, inflateSync } from 'node:zlib';

const signature = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);

/**
 * The same picture with at most 256 colours (the commonest, others by the nearest of them), as a PNG with a palette.
 * Takes 8-bit RGB or RGBA without interlacing, which is what a browser's screenshot is.
 */
export function smallPng(png: Buffer): Buffer {
  const { width, height, channels, pixels } = decode(png);
  const counts = new Map<number, number>();
  const keyAt = (i: number) => (pixels[i] << 16) | (pixels[i + 1] << 8) | pixels[i + 2];
  for (let i = 0; i < pixels.length; i += channels) counts.set(keyAt(i), (counts.get(keyAt(i)) ?? 0) + 1);
  const palette = paletteOf(counts);
  const indexOf = new Map(palette.map((key, index) => [key, index]));
  const rows = Buffer.alloc((width + 1) * height);
  for (let y = 0, i = 0; y < height; y++) {
    for (let x = 0; x < width; x++, i += channels) {
      const key = keyAt(i);
      let index = indexOf.get(key);
      if (index === undefined) {
        index = nearest(palette, key);
        indexOf.set(key, index);
      }
      rows[y * (width + 1) + 1 + x] = index;
    }
  }
  const head = Buffer.alloc(13);
  head.writeUInt32BE(width, 0);
  head.writeUInt32BE(height, 4);
  head.set([8, 3, 0, 0, 0], 8);
  const colours = Buffer.from(palette.flatMap((key) => [key >> 16, (key >> 8) & 255, key & 255]));
  return Buffer.concat([
    signature,
    chunk('IHDR', head),
    chunk('PLTE', colours),
    chunk('IDAT', deflateSync(rows, { level: 9 })),
    chunk('IEND', Buffer.alloc(0)),
  ]);
}

/** The commonest colours, at most one of every group that looks alike, so that thin lines keep their colour too. */
function paletteOf(counts: ReadonlyMap<number, number>): number[] {
  const groups = new Map<number, { key: number; count: number; most: number }>();
  for (const [key, count] of counts) {
    const group = key & 0xf8f8f8;
    const known = groups.get(group);
    if (known === undefined) groups.set(group, { key, count, most: count });
    else {
      if (count > known.most) Object.assign(known, { key, most: count });
      known.count += count;
    }
  }
  return [...groups.values()]
    .sort((a, b) => b.count - a.count)
    .slice(0, 256)
    .map(({ key }) => key);
}

function nearest(palette: readonly number[], key: number): number {
  let best = 0;
  let least = Number.POSITIVE_INFINITY;
  palette.forEach((other, index) => {
    const distance =
      ((other >> 16) - (key >> 16)) ** 2 +
      (((other >> 8) & 255) - ((key >> 8) & 255)) ** 2 +
      ((other & 255) - (key & 255)) ** 2;
    if (distance < least) [least, best] = [distance, index];
  });
  return best;
}

function decode(png: Buffer): { width: number; height: number; channels: number; pixels: Uint8Array } {
  const width = png.readUInt32BE(16);
  const height = png.readUInt32BE(20);
  const [depth, type, , , interlace] = png.subarray(24, 29);
  if (depth !== 8 || (type !== 2 && type !== 6) || interlace !== 0) {
    throw new Error(
      `A PNG of depth ${depth}, type ${type}, interlace ${interlace} is not what a screenshot is.`,
    );
  }
  const channels = type === 6 ? 4 : 3;
  const parts: Buffer[] = [];
  for (let at = 8; at < png.length; ) {
    const length = png.readUInt32BE(at);
    if (png.toString('latin1', at + 4, at + 8) === 'IDAT') parts.push(png.subarray(at + 8, at + 8 + length));
    at += length + 12;
  }
  return {
    width,
    height,
    channels,
    pixels: unfilter(inflateSync(Buffer.concat(parts)), width * channels, height, channels),
  };
}

/** Undoes the row filters of PNG (ISO/IEC 15948, clause 9). */
function unfilter(data: Buffer, stride: number, height: number, bytes: number): Uint8Array {
  const out = new Uint8Array(stride * height);
  for (let y = 0; y < height; y++) {
    const filter = data[y * (stride + 1)];
    for (let x = 0; x < stride; x++) {
      const left = x >= bytes ? out[y * stride + x - bytes] : 0;
      const up = y > 0 ? out[(y - 1) * stride + x] : 0;
      const corner = x >= bytes && y > 0 ? out[(y - 1) * stride + x - bytes] : 0;
      const add = [0, left, up, (left + up) >> 1, paeth(left, up, corner)][filter];
      out[y * stride + x] = data[y * (stride + 1) + 1 + x] + add;
    }
  }
  return out;
}

function paeth(left: number, up: number, corner: number): number {
  const guess = left + up - corner;
  const [a, b, c] = [Math.abs(guess - left), Math.abs(guess - up), Math.abs(guess - corner)];
  return a <= b && a <= c ? left : b <= c ? up : corner;
}

function chunk(type: string, data: Buffer): Buffer {
  const out = Buffer.alloc(data.length + 12);
  out.writeUInt32BE(data.length, 0);
  out.write(type, 4, 'latin1');
  data.copy(out, 8);
  out.writeUInt32BE(crc32(out.subarray(4, data.length + 8)), data.length + 8);
  return out;
}
