import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it, vi } from 'vitest';
import { createProgram, runProgram } from '../../server/commands/program.ts';
import { type ImpedanceResult, impedanceResult } from '../../server/contract/impedance.ts';
import { reasonSentences } from '../../server/contract/reasons.ts';
import { logFrequencies, powerCell, spectrumOf } from '../fitting/impedance/syntheticSpectrum.ts';
import { registerEvaluate } from '../support/registerEvaluate.ts';
import { sharedIsMissing, sharedPath } from '../support/required.ts';

const folder = mkdtempSync(join(tmpdir(), 'evaluate-impedance-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

async function gemel(...args: string[]): Promise<{ code: number; out: string; err: string }> {
  const program = createProgram();
  registerEvaluate(program);
  const written = { out: '', err: '' };
  const catchInto = (key: 'out' | 'err') => (text: string | Uint8Array) => {
    written[key] += String(text);
    return true;
  };
  const spies = [
    vi.spyOn(process.stdout, 'write').mockImplementation(catchInto('out')),
    vi.spyOn(process.stderr, 'write').mockImplementation(catchInto('err')),
  ];
  try {
    return { code: await runProgram(program, ['evaluate', 'impedance', ...args]), ...written };
  } finally {
    for (const spy of spies) spy.mockRestore();
  }
}

const result = (out: string): ImpedanceResult => impedanceResult.parse(JSON.parse(out));

function write(name: string, text: string): string {
  const path = join(folder, name);
  writeFileSync(path, text);
  return path;
}

/** The invented power cell's spectrum, exact, in mΩ and with −Im Z. */
function exactFile(): string {
  const { frequencyHz, realOhm, imaginaryOhm } = spectrumOf(powerCell, logFrequencies(10_000, 0.01, 8));
  const rows = Array.from(frequencyHz, (f, i) => `${f},${1000 * realOhm[i]},${-1000 * imaginaryOhm[i]}`);
  return write('exact.csv', `frequency_Hz,Re(Z)_mohm,-Im(Z)_mohm\n${rows.join('\n')}\n`);
}

describe('gemel evaluate impedance', () => {
  it('gives the circuit that made the spectrum, 1 kHz, the intercept and the verdict, by the contract', async () => {
    const { code, out, err } = await gemel(exactFile(), '--json');
    expect([code, err]).toEqual([0, '']);
    const [sweep] = result(out).sweeps;
    expect(sweep).toMatchObject({
      position: 0,
      cell: null,
      label: '1',
      points: 49,
      soc: null,
      socReason: 'charge-not-stated',
      circuitReason: null,
      consistency: { verdict: 'consistent' },
    });
    const values = new Map(sweep.circuit?.parameters.map((one) => [one.name, one]));
    expect(values.get('seriesInductanceH')?.value).toBeCloseTo(2e-7, 12);
    expect(values.get('arc2ResistanceOhm')).toMatchObject({ unit: 'Ohm' });
    expect(values.get('arc2ResistanceOhm')?.value).toBeCloseTo(0.015, 9);
    expect(sweep.candidates.find(({ chosen }) => chosen)).toMatchObject({ arcs: 2, diffusionTail: true });
    const exact = spectrumOf(powerCell, Float64Array.of(1000));
    expect(sweep.at1kHz.realOhm! / exact.realOhm[0]).toBeCloseTo(1, 2);
    expect(sweep.curve.frequencyHz).toHaveLength(49);
  });

  it('leaves a missing value null with its reason', async () => {
    const { out } = await gemel(
      write('low.csv', 'f_Hz,re_ohm,im_ohm\n10,0.02,-0.01\n1,0.03,-0.01\n'),
      '--json',
    );
    expect(result(out).sweeps[0]).toMatchObject({
      at1kHz: { magnitudeOhm: null, standardUncertaintyOhm: null, reason: 'outside-measured-range' },
      intercept: { resistanceOhm: null, reason: 'no-inductive-part' },
      circuit: null,
      circuitReason: 'no-circuit-identified',
      consistency: { verdict: 'too-few-points', rmsResidual: null },
    });
  });

  it('counts no state of charge beyond full or empty, nor without what it needs, and says so', async () => {
    const file = write(
      'charged.csv',
      'sweep,charge_Ah,f_Hz,re_ohm,im_ohm\na,0,10,0.02,-0.01\nb,0.05,10,0.02,-0.01\nc,1,10,0.02,-0.01\n',
    );
    const start = ['--start-soc', '1'];
    const full = await gemel(file, '--json', ...start, '--rated-capacity', '2');
    expect(result(full.out).sweeps.map(({ soc, socReason }) => [soc, socReason])).toEqual([
      [1, null],
      [1.025, null],
      [null, 'soc-out-of-range'],
    ]);
    const { out } = await gemel(file, ...start);
    expect(out).toContain('sweep a (SOC: capacity-unknown): ');
  });

  it('refuses a bad row with exit 1, and wrong options with exit 2', async () => {
    const bad = await gemel(write('bad.csv', 'f_Hz,re_ohm,im_ohm\n10,0.02,-0.01\n0,0.03,-0.01\n'));
    expect(bad.code).toBe(1);
    expect(bad.err).toContain(
      'row 3, column "f_Hz", value "0": This is not a frequency. A frequency is above 0.',
    );
    expect((await gemel(exactFile(), '--limit', '-1')).code).toBe(2);
    expect((await gemel(exactFile(), '--imaginary-sign', 'up')).code).toBe(2);
    const start = await gemel(exactFile(), '--start-soc', '2');
    expect([start.code, start.err]).toEqual([1, expect.stringContaining('it must lie between 0 and 1')]);
  });

  it('tries the circuits that are asked for, from the frequency that is asked for', async () => {
    const { out } = await gemel(
      exactFile(),
      '--json',
      '--max-arcs',
      '1',
      '--diffusion-tail',
      'always',
      '--fit-from',
      '1',
    );
    const [sweep] = result(out).sweeps;
    expect(sweep.candidates.map(({ arcs, diffusionTail }) => [arcs, diffusionTail])).toEqual([
      [0, true],
      [1, true],
    ]);
    expect(sweep.circuit).toMatchObject({ arcs: 1, diffusionTail: true, points: 33 });
  });
});

const eis = 'datasets/panasonic-18650pf/eis_25degC.csv';
describe.skipIf(sharedIsMissing(eis))('the measured spectra at 25 °C', () => {
  it('are told with state of charge, value and verdict, one after the other', async () => {
    const { code, out, err } = await gemel(sharedPath(eis), '--rated-capacity', '2.9', '--start-soc', '1');
    expect([code, err]).toEqual([0, '']);
    const [reasons, lines] = [true, false].map((isReason) =>
      out.split('\n').filter((line) => line !== '' && /^ {2}[a-z-]+: [A-Z]/.test(line) === isReason),
    );
    expect(lines).toHaveLength(3 * 14);
    // Why a circuit has no standard errors stands below it, in words.
    expect(reasons).toContain(`  residuals-correlated: ${reasonSentences['residuals-correlated']}`);
    // By numpy.polyfit of degree 3 in ln f through the four points around 1 kHz (20.976 by the line).
    expect(lines[0]).toMatch(
      /^sweep 3541_EIS00001 \(SOC 100\.0 %, 25 °C\): \|Z\| at 1 kHz 20\.9722 ± 0\.0086 mohm/,
    );
    expect(lines[18]).toContain('(SOC 50.0 %, 25 °C)');
    expect(lines[2]).toContain('obeys the Kramers–Kronig relations within 1 %');
  });

  it('are read with every number equal to Number() of its text', async () => {
    const { out } = await gemel(sharedPath(eis), '--json');
    const frequencies = result(out).sweeps.flatMap((sweep) => sweep.curve.frequencyHz);
    const texts = readFileSync(sharedPath(eis), 'utf8').trimEnd().split('\n').slice(1);
    expect(frequencies).toEqual(texts.map((line) => Number(line.split(',')[4])));
  });
});
