import { writeFileSync } from 'node:fs';
import { join } from 'node:path';

/** Rows of file `n`; every fourth is long enough to be stored in several transactions. */
export function rowsOfFile(n: number): number {
  return n % 4 === 3 ? 150_000 : 2000 + ((n * 7919) % 20_000);
}

/** Row `i` of file or live record `n`: time, voltage, current. Odd decimals, so that packing takes its raw way, too. */
export function rowOf(n: number, i: number): readonly [number, number, number] {
  const noise = (Math.imul(i + n * 977, 2654435761) >>> 8) / 16777216;
  return [i / 10, 3.3 + (n % 4 === 3 ? noise : Math.floor(noise * 1000) / 1000), ((i + n) % 7) - 3];
}

/** Writes file `n` into the folder and gives its path. */
export function writeKillFile(folder: string, n: number): string {
  const path = join(folder, `kill-${n}.csv`);
  const lines = Array.from({ length: rowsOfFile(n) }, (_, i) => rowOf(n, i).join(','));
  writeFileSync(path, `time_s,voltage_V,current_A\n${lines.join('\n')}\n`);
  return path;
}
