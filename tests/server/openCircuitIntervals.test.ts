import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';
import { capacityResult } from '../../server/contract/capacity.ts';
import type { OpenCircuitCurve } from '../../server/contract/openCircuit.ts';
import { evaluatedPulseRecord } from '../../server/contract/pulseRecord.ts';
import { runEvaluate } from '../support/runEvaluate.ts';

const CAPACITY_AH = 2.5;
const NORMAL_95 = 1.96;

/** An open-circuit curve that falls steeply near empty. */
const layeredV = (soc: number): number =>
  3.35 + 0.82 * soc - 0.45 * Math.exp(-22 * soc) + 0.035 * Math.tanh((soc - 0.55) / 0.08);
/** One with two plateaus and steep ends. */
const flatV = (soc: number): number =>
  3.27 -
  0.5 * Math.exp(-28 * soc) +
  0.02 * Math.tanh((soc - 0.35) / 0.06) +
  0.02 * Math.tanh((soc - 0.72) / 0.05) +
  0.02 * soc +
  0.1 * Math.exp(60 * (soc - 1));

interface Bench {
  readonly ocvV: (soc: number) => number;
  /** Times the resistances of a cell of 85 mΩ at room temperature. */
  readonly resistances?: number;
  /** Half of the difference between the branches, V. */
  readonly hysteresisV?: number;
  readonly zeroA?: number;
  /** Voltage that a process with a time constant of 4000 s has still to go at the first row. */
  readonly leftV?: number;
  readonly seed: number;
}

/** A cell on a tester that writes a row every so many seconds; its resistances double towards empty. */
class SimulatedRun {
  soc = 1;
  private readonly rows: string[] = [];
  private readonly branches = [
    { ohm: 0.015, tauS: 5, volts: 0 },
    { ohm: 0.02, tauS: 60, volts: 0 },
    { ohm: 0.02, tauS: 900, volts: 0 },
  ];
  private nowS = 0;
  private branchV: number;
  private leftV: number;
  private readonly normal;

  private readonly bench: Bench;

  constructor(bench: Bench) {
    this.bench = bench;
    this.normal = normalSource(seededRandom(bench.seed));
    this.branchV = bench.hysteresisV ?? 0;
    this.leftV = bench.leftV ?? 0;
  }

  get csv(): string {
    return `Time (s),Voltage (V),Current (A)\n${this.rows.join('\n')}\n`;
  }

  /** One current for a time, or until a voltage is passed. */
  step(currentA: number, seconds: number, everyS: number, untilV: number | null = null): void {
    const { ocvV, resistances = 1, hysteresisV = 0, zeroA = 0 } = this.bench;
    this.write(currentA, zeroA, this.voltage(currentA));
    for (let t = 0; t < seconds; t += everyS) {
      this.soc += (currentA * everyS) / 3600 / CAPACITY_AH;
      const higher = resistances * (1 + Math.exp(-15 * this.soc));
      for (const one of this.branches)
        one.volts += (one.ohm * higher * currentA - one.volts) * -Math.expm1(-everyS / one.tauS);
      if (currentA !== 0)
        this.branchV +=
          (Math.sign(currentA) * hysteresisV - this.branchV) *
          -Math.expm1((-Math.abs(currentA) * everyS) / 3600 / CAPACITY_AH / 0.03);
      this.leftV *= Math.exp(-everyS / 4000);
      this.nowS += everyS;
      const volts = this.voltage(currentA);
      this.write(currentA, zeroA, volts);
      if (untilV !== null && (currentA < 0 ? volts <= untilV : volts >= untilV)) break;
    }
    this.nowS += 0.01;
    expect(Number.isFinite(ocvV(this.soc))).toBe(true);
  }

  private voltage(currentA: number): number {
    const { ocvV, resistances = 1 } = this.bench;
    const higher = resistances * (1 + Math.exp(-15 * this.soc));
    const built = this.branches.reduce((sum, { volts }) => sum + volts, 0);
    return ocvV(this.soc) + this.branchV + this.leftV + built + 0.03 * higher * currentA;
  }

  private write(currentA: number, zeroA: number, volts: number): void {
    const [v, i] = [volts + 2e-4 * this.normal(), currentA + zeroA + 1e-4 * this.normal()];
    this.rows.push(`${this.nowS.toFixed(2)},${v.toFixed(6)},${i.toFixed(6)}`);
  }
}

describe('the interval of an open-circuit curve, through the whole command', () => {
  let folder: string;
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'gemel-ocv-'));
  });
  afterAll(() => rmSync(folder, { recursive: true }));

  const evaluated = async (kind: 'capacity' | 'pulse', csv: string, ...words: string[]) => {
    const file = join(folder, 'record.csv');
    writeFileSync(file, csv);
    const { code, out, err } = await runEvaluate(
      ...[kind, file, '--rated-capacity', String(CAPACITY_AH), '--json'],
      ...words,
    );
    expect(code, err).toBe(0);
    return JSON.parse(out);
  };
  const pulses = async (run: SimulatedRun, limits: string) =>
    evaluatedPulseRecord.parse(
      await evaluated('pulse', run.csv, '--start-soc', '1', '--voltage-limits', limits),
    );
  /** Errors in standard uncertainties. */
  const errors = (curve: OpenCircuitCurve, truthV: (soc: number) => number): number[] =>
    curve.soc.map((soc, i) => (curve.ocvV[i] - truthV(soc)) / curve.standardUncertaintyV[i]);

  it.each([1, 4])(
    'of one slow discharge holds what it was polarised by, with resistances times %s',
    async (resistances) => {
      const run = new SimulatedRun({ ocvV: layeredV, resistances, seed: 3 });
      run.step(0, 600, 30);
      run.step(-CAPACITY_AH / 10, 40_000, 30, 2.8);
      const emptySoc = run.soc;
      const discharge = run.csv;
      run.step(0, 3600, 30);
      const found = capacityResult.parse(await evaluated('capacity', run.csv, '--cutoff', '2.8'));
      const curve = found.openCircuit as OpenCircuitCurve;
      expect(curve).toMatchObject({ source: 'slow-discharge', assumes: 'one-direction' });
      const inside = curve.soc
        .map((soc, i) => ({ soc, i }))
        .filter(({ soc }) => soc > 0.015 && soc < 0.985)
        .map(
          ({ soc, i }) =>
            Math.abs(curve.ocvV[i] - layeredV(emptySoc + (1 - emptySoc) * soc)) /
            curve.standardUncertaintyV[i],
        );
      expect(Math.max(...inside)).toBeLessThan(NORMAL_95);
      // Not so wide that it says nothing.
      expect(Math.max(...inside)).toBeGreaterThan(0.5);
      const unrested = capacityResult.parse(await evaluated('capacity', discharge, '--cutoff', '2.8'));
      expect(unrested.openCircuit?.assumes).toBe('polarisation-assumed');
    },
  );

  /** Rests of an hour after each tenth of a discharge and, where asked, of the charge after it. */
  const rested = (bench: Bench, isBoth: boolean): SimulatedRun => {
    const run = new SimulatedRun(bench);
    run.step(0, 600, 10);
    for (const sign of isBoth ? [-1, 1] : [-1])
      for (let k = 0; k < 9; k++) {
        run.step((sign * CAPACITY_AH) / 3, 0.1 * 3 * 3600, 10);
        run.step(0, 3600, 10);
      }
    return run;
  };

  it.each([0, 5e-3, -5e-3])(
    'of rests holds the truth where the channel reads %s A without current',
    async (zeroA) => {
      const run = rested({ ocvV: layeredV, zeroA, seed: 5 }, false);
      const { openCircuit, rests } = await pulses(run, '2.8,4.3');
      const curve = openCircuit as OpenCircuitCurve;
      expect(curve.soc.length).toBe(10);
      // A rest of 600 s and ten of an hour: 5 mA would be counted for 1.5 % of the capacity.
      expect(rests.map(({ soc }) => soc).at(-1)).toBeCloseTo(run.soc, 3);
      expect(Math.max(...errors(curve, layeredV).map(Math.abs))).toBeLessThan(2.6);
    },
  );

  it('of rests after both directions is that of their mean, with the difference between them', async () => {
    const bench = { ocvV: flatV, hysteresisV: 0.015, seed: 7 };
    const both = (await pulses(rested(bench, true), '2.5,3.65')).openCircuit as OpenCircuitCurve;
    const beyond = errors(both, flatV).filter((one) => Math.abs(one) > NORMAL_95);
    expect(beyond).toEqual([]);
    expect(both.assumes).toBeNull();
    const known = both.hysteresisV.flatMap((width, i) =>
      width !== null && both.soc[i] > 0.15 && both.soc[i] < 0.85 ? [width] : [],
    );
    expect(known.length).toBeGreaterThan(5);
    for (const width of known) expect(Math.abs(width - 0.03)).toBeLessThan(0.003);
    const one = (await pulses(rested(bench, false), '2.5,3.65')).openCircuit;
    expect(one?.assumes).toBe('one-direction');
    expect(one?.hysteresisV.every((width) => width === null)).toBe(true);
  });

  it('of a rest in which nothing moves allows for what is slower than the rest', async () => {
    const { rests } = await pulses(rested({ ocvV: layeredV, leftV: 1e-3, seed: 9 }, false), '2.8,4.3');
    const [{ ocvV, ocvStandardUncertaintyV, restS }] = rests;
    expect(restS).toBeCloseTo(600, 0);
    const off = Math.abs((ocvV ?? 0) - layeredV(1));
    expect(off).toBeGreaterThan(5e-4);
    expect(off / (ocvStandardUncertaintyV ?? 0)).toBeLessThan(3);
    // After an hour in which the noise of a reading is 0.2 mV it is known well.
    expect(rests[3].ocvStandardUncertaintyV).toBeLessThan(2e-3);
  });
});
