import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it, vi } from 'vitest';
import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';
import { createProgram, runProgram } from '../../server/commands/program.ts';
import { type CapacityRun, capacityResult } from '../../server/contract/capacity.ts';
import { registerEvaluate } from '../support/registerEvaluate.ts';

const folder = mkdtempSync(join(tmpdir(), 'odd-capacity-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const CAPACITY_AH = 2;
const CUTOFF_V = 2.7;
const OHM = 0.04;
/** An open-circuit voltage with a knee towards empty; invented. */
const ocv = (soc: number): number => 3.45 + 0.62 * soc + 0.1 * soc * soc - 0.95 * Math.exp(-22 * soc);

/** A row: time in s, voltage in V, current in A. */
type Row = [number, number, number];

/** A cell that is discharged step by step, seen every second through an instrument with noise. */
class Bench {
  readonly rows: Row[] = [];
  private soc = 1;
  private readonly normal: () => number;
  private readonly stepA: number;

  constructor(seed: number, stepA = 0) {
    this.normal = normalSource(seededRandom(seed));
    this.stepA = stepA;
  }

  /** Rows at one current until the voltage is below the cut-off or `longestS` have passed; gives the charge in Ah. */
  run(currentA: number, longestS = Infinity): number {
    let seconds = 0;
    for (; seconds < longestS; seconds++) {
      const voltageV = ocv(this.soc) + OHM * currentA;
      if (currentA < 0 && voltageV <= CUTOFF_V) break;
      this.write(voltageV, currentA);
      this.soc += currentA / 3600 / CAPACITY_AH;
    }
    return (Math.abs(currentA) * seconds) / 3600;
  }

  private write(voltageV: number, currentA: number): void {
    const read = currentA + 2e-4 * this.normal();
    const shown = this.stepA > 0 ? Math.round(read / this.stepA) * this.stepA : read;
    this.rows.push([this.rows.length, voltageV + 2e-4 * this.normal(), shown]);
  }
}

/** What `gemel evaluate capacity FILE --json` prints for the first run. */
async function firstRun(rows: readonly Row[]): Promise<CapacityRun> {
  const file = join(folder, 'record.csv');
  const lines = rows.map(([t, v, i]) => `${t},${v.toFixed(6)},${i.toFixed(6)}`);
  writeFileSync(file, `time_s,voltage_V,current_A\n${lines.join('\n')}\n`);
  const program = createProgram();
  registerEvaluate(program);
  let out = '';
  const spy = vi.spyOn(process.stdout, 'write').mockImplementation((text) => {
    out += String(text);
    return true;
  });
  try {
    const code = await runProgram(program, [
      'evaluate',
      'capacity',
      file,
      '--cutoff',
      String(CUTOFF_V),
      '--json',
    ]);
    expect(code).toBe(0);
  } finally {
    spy.mockRestore();
  }
  return capacityResult.parse(JSON.parse(out)).runs[0];
}

/** The rows whose time is a whole number of intervals. */
const everyOf = (rows: readonly Row[], everyS: number): Row[] =>
  rows.filter(([timeS]) => timeS % everyS === 0);

/** Distance of the capacity from the truth in half-widths of its 95 % interval. */
function halfWidthsOff({ capacityAh, interval95Ah }: CapacityRun, trueAh: number): number {
  if (capacityAh === null || interval95Ah === null) return Number.NaN;
  return Math.abs(capacityAh - trueAh) / ((interval95Ah[1] - interval95Ah[0]) / 2);
}

describe('the capacity of an odd record', () => {
  it.each([1, 2, 3])('holds for a current in steps that the file rounds (seed %d)', async (seed) => {
    // 16 bit over ±20 A, printed with six decimals: two thousand steps of the printed step end beside the reading.
    const bench = new Bench(seed, 40 / 65536);
    bench.run(0, 300);
    const trueAh = bench.run(-1.2 - 1e-4 * seed);
    bench.run(0, 300);
    expect(halfWidthsOff(await firstRun(bench.rows), trueAh)).toBeLessThan(1.8);
  });

  it('ends where the tester stopped, though a smaller current takes out more after a rest', async () => {
    const bench = new Bench(4);
    bench.run(0, 300);
    const trueAh = bench.run(-2);
    bench.run(0, 600);
    expect(bench.run(-0.5)).toBeGreaterThan(0.005);
    bench.run(0, 300);
    expect(halfWidthsOff(await firstRun(bench.rows), trueAh)).toBeLessThan(1.8);
  });

  it('counts a pause of which only the first row of rest was written', async () => {
    const bench = new Bench(5);
    bench.run(0, 300);
    const before = bench.run(-1, 2000);
    const pausedFrom = bench.rows.length;
    bench.run(0, 1800);
    const pausedTo = bench.rows.length;
    const trueAh = before + bench.run(-1);
    bench.run(0, 300);
    const run = await firstRun(bench.rows.filter((_, row) => row <= pausedFrom || row >= pausedTo));
    expect(run.reason).toBeNull();
    expect(halfWidthsOff(run, trueAh)).toBeLessThan(1.8);
  });

  it.each([
    { pauseS: 20, everyS: 1 },
    { pauseS: 40, everyS: 10 },
    { pauseS: 90, everyS: 10 },
    { pauseS: 60, everyS: 30 },
    { pauseS: 200, everyS: 30 },
  ])('holds for a pause of $pauseS s without rows in rows every $everyS s', async ({ pauseS, everyS }) => {
    for (const seed of [11, 12, 13]) {
      const bench = new Bench(seed);
      bench.run(0, 300);
      const before = bench.run(-1, 1500 + 300 * (seed - 10));
      const pausedFrom = bench.rows.length;
      bench.run(0, pauseS);
      const pausedTo = bench.rows.length;
      const trueAh = before + bench.run(-1);
      bench.run(0, 300);
      const written = bench.rows.filter((_, row) => row < pausedFrom || row >= pausedTo);
      expect(halfWidthsOff(await firstRun(everyOf(written, everyS)), trueAh)).toBeLessThan(1.2);
    }
  });

  it.each([
    { lostS: 30, everyS: 1 },
    { lostS: 70, everyS: 10 },
    { lostS: 200, everyS: 30 },
  ])(
    'holds where the rows of $lostS s of load are lost in rows every $everyS s',
    async ({ lostS, everyS }) => {
      const bench = new Bench(14);
      bench.run(0, 300);
      const trueAh = bench.run(-1);
      bench.run(0, 300);
      const written = bench.rows.filter(([timeS]) => timeS < 2000 || timeS >= 2000 + lostS);
      expect(halfWidthsOff(await firstRun(everyOf(written, everyS)), trueAh)).toBeLessThan(1.2);
    },
  );

  it('does not begin before its first loaded row where the rest before it was written as seldom', async () => {
    const bench = new Bench(15);
    // A charge that was written often, then a rest with a row every five minutes, the last of them just before the load.
    bench.run(0.01, 60);
    bench.run(0, 600);
    const trueAh = bench.run(-0.4);
    bench.run(0, 300);
    let [lastS, lastV, lastA] = bench.rows[0];
    const written = bench.rows.filter(([timeS, voltageV, currentA], row) => {
      const due =
        timeS - lastS >= 300 || Math.abs(voltageV - lastV) > 0.01 || Math.abs(currentA - lastA) > 0.005;
      if (row > 0 && !due && !(timeS < 60 && timeS % 20 === 0)) return false;
      [lastS, lastV, lastA] = [timeS, voltageV, currentA];
      return true;
    });
    expect(halfWidthsOff(await firstRun(written), trueAh)).toBeLessThan(1.2);
  });

  it('is not put off by a last row that was written twice', async () => {
    const bench = new Bench(6);
    bench.run(0, 300);
    const trueAh = bench.run(-2);
    bench.rows.push([...bench.rows[bench.rows.length - 1]]);
    const rest = bench.rows.length;
    bench.run(0, 300);
    const rows = bench.rows.map(([t, v, i], row): Row => [row < rest ? Math.min(t, rest - 2) : t - 1, v, i]);
    expect(halfWidthsOff(await firstRun(rows), trueAh)).toBeLessThan(1.8);
  });
});
