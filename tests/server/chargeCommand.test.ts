import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { registerCharge } from '../../server/commands/charge.ts';
import { createProgram, runProgram } from '../../server/commands/program.ts';
import { cautionSentences, generalCautions } from '../../server/contract/cautions.ts';
import { chargeStudyResult } from '../../server/contract/chargeStudyResult.ts';

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'gemel-charge-'));
});
afterAll(() => rmSync(folder, { recursive: true }));

/** Runs `gemel charge` on a document (or a text) and collects what it writes. */
async function charge(
  document: unknown,
  ...options: string[]
): Promise<{ code: number; out: string; err: string }> {
  const file = join(folder, 'study.json');
  writeFileSync(file, typeof document === 'string' ? document : JSON.stringify(document));
  let [out, err] = ['', ''];
  const spies = [
    vi.spyOn(process.stdout, 'write').mockImplementation((text) => {
      out += text;
      return true;
    }),
    vi.spyOn(process.stderr, 'write').mockImplementation((text) => {
      err += text;
      return true;
    }),
  ];
  try {
    const program = createProgram();
    registerCharge(program);
    return { code: await runProgram(program, ['charge', file, ...options]), out, err };
  } finally {
    for (const spy of spies) spy.mockRestore();
  }
}

const cell = (name: string, capacityAh: number, r0Ohm: number, startSoc: number, more: object = {}) => ({
  name,
  capacityAh,
  soc: [0, 1],
  ocvV: [3.4, 4.2],
  r0Ohm,
  startSoc,
  datasheet: { maxVoltageV: 4.2, maxChargeCurrentA: 5, minChargeTemperatureC: 0, maxChargeTemperatureC: 45 },
  ...more,
});
/** Two cells of linear OCV in series, whose charge has a solution in closed form. */
const study = (more: object = {}) => ({
  schemaVersion: 1,
  cells: [cell('A', 2.4, 0.055, 0.15), cell('B', 2.5, 0.05, 0.1)],
  stack: { ambientTemperatureC: 25 },
  phases: { stages: [{ currentA: 2.5 }], end: { currentA: 0.125 } },
  ...more,
});
const answerOf = async (document: unknown, ...options: string[]) => {
  const run = await charge(document, '--json', ...options);
  expect(run.err).toBe('');
  expect(run.code).toBe(0);
  return chargeStudyResult.parse(JSON.parse(run.out));
};

describe('gemel charge FILE --json', () => {
  it('answers the exact two-cell case under the names of the contract', async () => {
    const answer = await answerOf(study());
    expect(answer.phases.map((phase) => phase.kind)).toEqual(['constant-current', 'constant-voltage']);
    expect(answer.phases[0].endTimeS).toBeCloseTo(2343.6, 6);
    expect(answer.endTimeS).toBeCloseTo(2343.6 + 1779.46497, 3);
    expect(answer.cells.map((c) => c.name)).toEqual(['A', 'B']);
    expect(answer.cells[1].endVoltageV).toBeCloseTo(4.13245, 8);
    expect(answer.limits.map(({ limit, cell: which }) => [limit, which])).toEqual([
      ['stage-current', null],
      ['cell-voltage', 0],
    ]);
    // B is the later one: (0.5 − 0.1) × 2.5 Ah at 2.5 A.
    expect(answer.timesS['0.5']).toBeCloseTo(1440, 6);
    expect(answer.timesS['1']).toBeNull();
    expect(answer.timesMissing['1']).toBe('not-reached');
    expect(answer.series).toBeNull();
    expect(answer.cautions).toEqual(
      expect.arrayContaining([
        'watch-each-cell',
        'datasheet-outranks',
        'not-unattended',
        'qualified-person-decides',
      ]),
    );
  });

  it('gives the series on request', async () => {
    const { series, endTimeS } = await answerOf(study(), '--series', '100');
    expect(series?.timeS.slice(0, 3)).toEqual([0, 100, 200]);
    expect(series?.timeS.at(-1)).toBeCloseTo(endTimeS, 9);
    expect(series?.cells[0].soc[1]).toBeCloseTo(0.15 + (2.5 * 100) / (2.4 * 3600), 12);
  });

  it('answers every question of the document, and the same way each time', async () => {
    const thermal = { heatCapacityJPerK: 47.5, heatTransferWPerK: 0.0418 };
    const uncertainty = { capacityRelative: 0.01, r0Relative: 0.05, startSoc: 0.01 };
    const document = study({
      cells: [
        cell('A', 2.4, 0.055, 0.15, { thermal, uncertainty }),
        cell('B', 2.5, 0.05, 0.1, { thermal, uncertainty }),
      ],
      questions: {
        rateSearch: {
          maxTemperatureC: 35,
          life: { cyclesAtReference: 800, referenceRateC: 1, rateExponent: 0.5, referenceTemperatureC: 25 },
        },
        stagedProfile: { maxTemperatureC: 35, stages: 3 },
        monteCarlo: { draws: 50, seed: 4 },
        rateTable: { temperatureC: [-10, 25] },
        stackOnly: true,
      },
    });
    const answer = await answerOf(document);
    expect(answer.rateSearch?.binding).toBe('temperature');
    expect(answer.rateSearch?.best?.peakTemperatureC).toBeLessThanOrEqual(35);
    expect(answer.rateSearch?.tradeOff[0].lifeCycles).toBeGreaterThan(
      answer.rateSearch?.tradeOff.at(-1)?.lifeCycles ?? 1e9,
    );
    expect(answer.stagedProfile?.targetTimeS).toBeLessThanOrEqual(
      answer.stagedProfile?.singleRateTargetTimeS ?? 0,
    );
    expect(answer.monteCarlo?.endTimeS.low).toBeLessThan(answer.monteCarlo?.endTimeS.high ?? 0);
    expect(answer.rateTable?.basis).toBe('computed-from-fitted-parameters');
    expect(answer.rateTable?.entries.find((e) => e.temperatureC === -10)?.rateC).toBeNull();
    expect(answer.stackOnly?.cells[0].overvoltageV).toBeGreaterThan(0);
    expect(answer.cautions).toContain('stack-only-overcharges');
    expect(await answerOf(document)).toEqual(answer);
  });

  it('says not to charge outside the temperature window', async () => {
    const answer = await answerOf(
      study({ stack: { ambientTemperatureC: -5 }, questions: { rateSearch: {} } }),
    );
    expect(answer.endReason).toBe('outside-temperature-window');
    expect(answer.rateSearch).toMatchObject({ rateC: null, reason: 'below-minimum-temperature' });
    expect(answer.cautions).toContain('do-not-charge');
  });

  it('marks parameters used outside the temperatures they were measured at, and default limits', async () => {
    const wide = {
      temperatureC: [20, 30],
      r0Ohm: [
        [0.06, 0.05],
        [0.06, 0.05],
      ],
    };
    const datasheet = { maxVoltageV: 4.2, maxChargeCurrentA: 5, defaults: true };
    const answer = await answerOf(
      study({
        cells: [cell('A', 2.4, 0.05, 0.1, { ...wide, datasheet })],
        questions: { rateTable: { temperatureC: [25] } },
        stack: { ambientTemperatureC: 5 },
      }),
    );
    expect(answer.rateTable?.basis).toBe('default-from-common-practice');
    expect(answer.cells[0].extrapolated).toContain('temperature-outside-table');
    expect(answer.cautions).toEqual(
      expect.arrayContaining(['parameters-extrapolated', 'default-limits-not-datasheet']),
    );
  });

  it.each([
    ['a start SOC above 1', study({ cells: [cell('A', 2.4, 0.05, 1.2)] }), ['cells.0.startSoc', '1.2']],
    [
      'a limit below the open-circuit voltage',
      study({ stack: { ambientTemperatureC: 25, cellVoltageLimitV: 3.45 } }),
      ['cells[0]', '3.45', 'open-circuit voltage 3.5200'],
    ],
    [
      'a limit above the datasheet',
      study({ stack: { ambientTemperatureC: 25, cellVoltageLimitV: 4.35 } }),
      ['stack.cellVoltageLimitV', '4.35', 'at most 4.2 V'],
    ],
    [
      'neither current nor rate',
      study({ phases: { stages: [{}] } }),
      ['phases.stages.0', 'exactly one of currentA and rateC'],
    ],
    [
      'a table of another length',
      study({ cells: [{ ...cell('A', 2.4, 0.05, 0.1), r0Ohm: [0.05] }] }),
      ['cells.0.r0Ohm', '(1)', '2 rows'],
    ],
    [
      'a ratio that the source cannot reach',
      study({
        source: { maxVoltageV: 12, maxCurrentA: 3 },
        converter: { ratioStage: { ratio: 2, maxPathCurrentA: 6 } },
      }),
      ['bus voltage too low', 'source.maxVoltageV 12'],
    ],
    ['an unknown field', { ...study(), speed: 3 }, ['speed']],
    ['text that is no JSON', '{ "schemaVersion": 1,', ['not valid JSON']],
  ])('refuses %s by field and value, with exit code 1', async (_, document, words) => {
    const run = await charge(document, '--json');
    expect(run.code).toBe(1);
    expect(run.out).toBe('');
    for (const word of words) expect(run.err).toContain(word);
  });
});

describe('gemel charge FILE', () => {
  it('tells times, limits and cautions to a person', async () => {
    const { code, out } = await charge(study({ name: 'bench pair' }));
    expect(code).toBe(0);
    expect(out).toContain('Charge bench pair');
    expect(out).toContain('cell-voltage of A');
    for (const code of generalCautions) expect(out).toContain(cautionSentences[code]);
  });

  it('refuses a file that is not there, and wrong usage with exit code 2', async () => {
    const program = createProgram();
    registerCharge(program);
    let err = '';
    const spy = vi.spyOn(process.stderr, 'write').mockImplementation((text) => {
      err += text;
      return true;
    });
    try {
      expect(await runProgram(program, ['charge', join(folder, 'absent.json')])).toBe(1);
      expect(err).toContain('absent.json": There is no such file.');
      expect(await runProgram(program, ['charge'])).toBe(2);
    } finally {
      spy.mockRestore();
    }
  });
});
