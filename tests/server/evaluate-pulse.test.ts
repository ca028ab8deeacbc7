import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it, vi } from 'vitest';
import { evaluatePulseRecord } from '../../server/assess/pulse/evaluatePulseRecord.ts';
import { createProgram, runProgram } from '../../server/commands/program.ts';
import { cautionSentences, generalCautions } from '../../server/contract/cautions.ts';
import { type EvaluatedPulseRecord, evaluatedPulseRecord } from '../../server/contract/pulseRecord.ts';
import { recordOf } from '../fitting/records/recordOf.ts';
import { runCommand } from '../support/program.ts';
import { registerEvaluate } from '../support/registerEvaluate.ts';
import { sharedIsMissing, sharedPath } from '../support/required.ts';

const folder = mkdtempSync(join(tmpdir(), 'evaluate-pulse-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

function gemel(...args: string[]): { code: number | null; out: string; err: string } {
  const run = runCommand(['evaluate', 'pulse', ...args]);
  return { code: run.status, out: run.stdout, err: run.stderr };
}

/** The same command without a process of its own, which would take most of the time. */
async function inProcess(...args: string[]): Promise<{ code: number; out: string; err: string }> {
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
    const code = await runProgram(program, ['evaluate', 'pulse', ...args]);
    return { code, ...written };
  } finally {
    for (const spy of spies) spy.mockRestore();
  }
}

const record = recordOf(
  [
    { seconds: 600, currentA: 0, intervalS: 1 },
    { seconds: 10, currentA: -3, intervalS: 0.1 },
    { seconds: 40, currentA: 0, intervalS: 1 },
    { seconds: 10, currentA: 2.25, intervalS: 0.1 },
    { seconds: 600, currentA: 0, intervalS: 1 },
  ],
  { noiseV: 2e-4, resolutionV: 1e-4 },
);

function write(name: string, header: string, row: (k: number) => string): string {
  const path = join(folder, name);
  writeFileSync(path, `${header}\n${Array.from(record.timeS, (_, k) => row(k)).join('\n')}\n`);
  return path;
}

describe('gemel evaluate pulse FILE', () => {
  it('prints the whole evaluation as JSON of the contract, without a database', () => {
    const file = write(
      'plain.csv',
      'time_s,voltage_V,current_A',
      (k) => `${record.timeS[k]},${record.voltageV[k]},${record.currentA[k]}`,
    );
    const { code, out, err } = gemel(file, '--rated-capacity', '3', '--start-soc', '0.5', '--json');
    expect(err).toBe('');
    expect(code).toBe(0);
    const result: EvaluatedPulseRecord = evaluatedPulseRecord.parse(JSON.parse(out));
    expect(result.pulses.map((pulse) => pulse.direction)).toEqual(['discharge', 'charge']);
    const [discharge, charge] = result.pulses;
    expect(discharge.socBefore).toBeCloseTo(0.5, 6);
    expect(discharge.rateC).toBeCloseTo(1, 6);
    expect(charge.socBefore).toBeCloseTo(0.5 - 30 / 10_800, 3);
    const at10 = discharge.resistances.find((one) => one.durationS === 10);
    expect(at10?.valueOhm).toBeCloseTo(0.03, 3);
    expect(discharge.temperatureC).toBeNull();
    expect(discharge.temperatureReason).toBe('not-recorded');
    expect(discharge.circuit?.r0Ohm).toBeCloseTo(0.03, 3);
    expect(result.pulsePowers).toHaveLength(1);
    // what the command computes is what the use case computes
    const direct = evaluatePulseRecord(record, { ratedCapacityAh: 3, startSoc: 0.5 });
    expect(result).toEqual(JSON.parse(JSON.stringify(direct)));
  });

  it('takes columns, units and the sign of the current as told', async () => {
    const file = write(
      'told.csv',
      'Zeit;U;I;other',
      (k) => `${record.timeS[k] / 60};${1000 * record.voltageV[k]};${-1000 * record.currentA[k]};x`,
    );
    const { code, out, err } = await inProcess(
      file,
      '--columns',
      'time=Zeit,voltage=U,current=I',
      '--units',
      'time=min,voltage=mV,current=mA',
      '--current-sign',
      'discharge-positive',
      '--durations',
      '1,5',
      '--branches',
      '1',
      '--fixture',
      '0.002,0.0005',
      '--json',
    );
    // A column that takes no part is named, not dropped in silence.
    expect(err).toBe('columns not used: "other"\n');
    expect(code).toBe(0);
    const result = evaluatedPulseRecord.parse(JSON.parse(out));
    expect(result.pulses[0].direction).toBe('discharge');
    expect(result.pulses[0].resistances.map((one) => one.durationS)).toEqual([1, 5]);
    expect(result.pulses[0].resistances[1].valueOhm).toBeCloseTo(0.028, 3);
    expect(result.pulses[0].resistances[1].standardUncertaintyOhm).toBeGreaterThan(0.0005);
    expect(result.settings.maxBranches).toBe(1);
  });

  it('has a readable summary with the cautions', async () => {
    const file = write(
      'summary.csv',
      'time_s,voltage_V,current_A',
      (k) => `${record.timeS[k]},${record.voltageV[k]},${record.currentA[k]}`,
    );
    const { code, out } = await inProcess(file);
    expect(code).toBe(0);
    expect(out).toContain('2 pulses');
    // Every value stands with its uncertainty in the digits it deserves, and with what became of the other models.
    expect(out).toMatch(/^ {2}R\(10 s\) {2}\d+\.\d+ ± 0\.\d{2,3} mOhm/m);
    expect(out).toMatch(/^ {2}circuit {2}\d RC: R0 \d+\.\d+ ± \d+\.\d+ mOhm/m);
    expect(out).toMatch(/^ {2}residuals {2}\S+.*: \d/m);
    expect(out).toMatch(/^ {2}refused {2}\d RC/m);
    expect(out).toMatch(/no value: pulse-too-short$/m);
    for (const code of generalCautions) expect(out).toContain(cautionSentences[code]);
  });

  it.each([
    [['--rated-capacity', '-3'], /--rated-capacity \(-3\).*above 0/],
    [['--start-soc', '80'], /--start-soc \(80\).*0 to 1/],
    [['--durations', '1,zero'], /--durations \(zero\).*not a number/],
    [['--branches', '4'], /--branches \(4\).*0, 1, 2 or 3/],
    [['--voltage-limits', '4.2'], /--voltage-limits.*2 numbers/],
    [['--voltage-limits', '4.2,2.5'], /first must be lower/],
    [['--columns', 'volts=U'], /--columns/],
    [['--current-sign', 'minus'], /charge-positive or discharge-positive/],
    [['--charge-column', 'nothing'], /--charge-column/],
  ])('refuses %j with the option, the value and what would be right', async (options, message) => {
    const file = write(
      'options.csv',
      'time_s,voltage_V,current_A',
      (k) => `${record.timeS[k]},${record.voltageV[k]},${record.currentA[k]}`,
    );
    const { code, out, err } = await inProcess(file, ...options, '--json');
    expect(code).toBe(1);
    expect(out).toBe('');
    expect(err).toMatch(message);
  });

  it('refuses a broken value with its row, and ends with 2 on wrong usage', async () => {
    const file = write(
      'broken.csv',
      'time_s,voltage_V,current_A',
      (k) => `${record.timeS[k]},${k === 20 ? 'n/a' : record.voltageV[k]},${record.currentA[k]}`,
    );
    const broken = await inProcess(file, '--json');
    expect(broken.code).toBe(1);
    expect(broken.err).toMatch(/row 22/);
    expect((await inProcess()).code).toBe(2);
    expect((await inProcess(file, '--no-such-option')).code).toBe(2);
  });

  it.skipIf(sharedIsMissing('datasets/panasonic-18650pf'))(
    'finds the 67 pulses of a real record, its SOC carried over the gaps by the charge counter',
    async () => {
      const file = sharedPath('datasets/panasonic-18650pf/hppc_25degC.csv');
      const { code, out } = await inProcess(file, '--rated-capacity', '2.9', '--start-soc', '1', '--json');
      expect(code).toBe(0);
      const result = evaluatedPulseRecord.parse(JSON.parse(out));
      expect(result.pulses).toHaveLength(67);
      const half = result.pulses.find(
        (pulse) => Math.abs(pulse.currentA + 2.9) < 0.05 && Math.abs((pulse.socBefore ?? 0) - 0.5) < 0.01,
      );
      expect((half?.resistances.find((one) => one.durationS === 0.2)?.valueOhm ?? 0) / 0.0287).toBeCloseTo(
        1,
        1,
      );
      expect((half?.resistances.find((one) => one.durationS === 10)?.valueOhm ?? 0) / 0.0373).toBeCloseTo(
        1,
        2,
      );
      const without = await inProcess(
        file,
        '--rated-capacity',
        '2.9',
        '--start-soc',
        '1',
        '--charge-column',
        'none',
        '--json',
      );
      const blind = evaluatedPulseRecord.parse(JSON.parse(without.out));
      expect(blind.pulses[20]).toMatchObject({ socBefore: null, socBeforeReason: 'gap-in-record' });
    },
  );
});
