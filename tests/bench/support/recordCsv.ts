import { closeSync, existsSync, mkdirSync, openSync, renameSync, writeSync } from 'node:fs';
import { dirname } from 'node:path';

/** Small seeded generator (xorshift128), so that every run of a bench reads the same bytes. */
function randomSource(seed: number): () => number {
  let [x, y, z, w] = [seed | 1, 362436069, 521288629, 88675123];
  return () => {
    const t = x ^ (x << 11);
    x = y;
    y = z;
    z = w;
    w = (w ^ (w >>> 19) ^ t ^ (t >>> 8)) | 0;
    return (w >>> 0) / 4294967296;
  };
}

/** Decimal text of an integer number of 10^-decimals. */
function decimalText(value: number, decimals: number): string {
  const digits = Math.abs(value)
    .toString()
    .padStart(decimals + 1, '0');
  const at = digits.length - decimals;
  return `${value < 0 ? '-' : ''}${digits.slice(0, at)}.${digits.slice(at)}`;
}

/**
 * Writes a long synthetic cycling record once: time, voltage, current, temperature at 10 Hz, with white noise of 200 µV,
 * 300 µA and 0.02 °C at the printed resolution, about 35 bytes a row. Written under another name first, so that a file
 * cut short is never taken for the whole.
 */
export function makeRecordCsv(path: string, rowCount: number, seed = 1): void {
  if (existsSync(path)) return;
  mkdirSync(dirname(path), { recursive: true });
  const random = randomSource(seed);
  const normal = (): number => Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
  const partial = `${path}.partial`;
  const file = openSync(partial, 'w');
  let text = 'time_s,voltage_V,current_A,temperature_C\n';
  for (let i = 0; i < rowCount; i++) {
    const phase = (i % 72_000) / 72_000;
    const level = phase < 0.4 ? 2 : phase < 0.5 ? 0 : phase < 0.9 ? -2 : 0;
    const voltage = 3.7 + 0.4 * Math.sin(2 * Math.PI * (phase - 0.2)) + 0.03 * level + 2e-4 * normal();
    const current = level + 3e-4 * normal();
    const temperature = 25 + 1.5 * Math.sin(2 * Math.PI * phase * 2) + 0.02 * normal();
    text += `${decimalText(i * 100, 3)},${decimalText(Math.round(voltage * 1e5), 5)},`;
    text += `${decimalText(Math.round(current * 1e6), 6)},${decimalText(Math.round(temperature * 1e3), 3)}\n`;
    if (text.length > 1_000_000) {
      writeSync(file, text);
      text = '';
    }
  }
  writeSync(file, text);
  closeSync(file);
  renameSync(partial, path);
}
