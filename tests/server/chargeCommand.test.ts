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
    [
      'losses of a converter given twice',
      study({
        source: { maxVoltageV: 20, maxCurrentA: 3 },
        converter: {
          ratioStage: { ratio: 2, maxPathCurrentA: 6, efficiency: 0.97, outputResistanceOhm: 0.02 },
        },
      }),
      ['converter.ratioStage.efficiency', 'the losses are given by outputResistanceOhm too'],
    ],
    [
      'an efficiency table of a converter with two paths that does not say whose',
      study({
        source: { maxVoltageV: 20, maxCurrentA: 3 },
        converter: {
          ratioStage: {
            ratio: 2,
            paths: 2,
            maxPathCurrentA: 6,
            efficiency: { outputCurrentA: [1, 5], efficiency: [0.95, 0.97] },
          },
        },
      }),
      ['converter.ratioStage.efficiency.of', '"one-path" or "all-paths"'],
    ],
    [
      'a least output current of a converter without a regulator to take over',
      study({
        source: { maxVoltageV: 20, maxCurrentA: 3 },
        converter: { ratioStage: { ratio: 2, maxPathCurrentA: 6, minOutputCurrentA: 0.5 } },
      }),
      ['converter.ratioStage.minOutputCurrentA', 'there is none'],
    ],
    [
      'operating points with less input voltage than the ratio needs',
      study({
        source: { maxVoltageV: 20, maxCurrentA: 3 },
        converter: {
          ratioStage: {
            ratio: 2,
            maxPathCurrentA: 6,
            operatingPoints: {
              points: [
                { outputVoltageV: 8, outputCurrentA: 1, inputVoltageV: 15, inputCurrentA: 0.6 },
                { outputVoltageV: 8, outputCurrentA: 5, inputVoltageV: 15, inputCurrentA: 2.6 },
              ],
            },
          },
        },
      }),
      ['operatingPoints', 'output resistance of', 'at least 2 times the output voltage'],
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

describe('gemel charge FILE with source, cable and converter', () => {
  const supply = (more: object = {}) =>
    study({
      cells: [cell('A', 2.5, 0.02, 0.1), cell('B', 2.5, 0.02, 0.1)],
      source: { minVoltageV: 5, maxVoltageV: 20, maxCurrentA: 3, voltageStepV: 0.02, currentStepA: 0.05 },
      cable: { resistanceOhm: 0.1 },
      converter: {
        ratioStage: {
          ratio: 2,
          paths: [
            { maxCurrentA: 3, outputResistanceOhm: 0.02, fixedLossCurrentA: 0.01 },
            { maxCurrentA: 3, outputResistanceOhm: 0.06, fixedLossCurrentA: 0.01 },
          ],
        },
      },
      stack: { ambientTemperatureC: 25, seriesResistance: { toSensePointOhm: 0.01 } },
      ...more,
    });

  it('answers power and losses by hand calculation, with what was asked and what was not reached', async () => {
    const answer = await answerOf(supply({ phases: { stages: [{ rateC: 2 }], end: { currentA: 0.125 } } }));
    // Path 1 carries three quarters: 3 A of it are 4 A in all, a bus current of 2.02 A, set to 2.00 A, giving 3.96 A.
    expect(answer.limits[0]).toMatchObject({ limit: 'converter-current', path: 0 });
    const [start] = answer.operatingPoints;
    expect(start.stackCurrentA).toBeCloseTo(3.96, 9);
    expect(start.pathCurrentsA?.[0]).toBeCloseTo(2.97, 9);
    const stackV = 2 * (3.4 + 0.08 + 3.96 * 0.02);
    expect(start.stackVoltageV).toBeCloseTo(stackV, 9);
    const outputV = stackV + 0.01 * 3.96;
    const busV = 2 * (outputV + 0.015 * 3.96);
    expect(start.busVoltageV).toBeCloseTo(busV + 2 * 0.1, 9);
    expect(start.stackResistanceLossW).toBeCloseTo(0.01 * 3.96 ** 2, 9);
    expect(start.cableLossW).toBeCloseTo(0.1 * 4, 9);
    expect(start.converterLossW).toBeCloseTo(busV * 2 - outputV * 3.96, 9);
    expect(start.cellLossW).toBeCloseTo(2 * 0.02 * 3.96 ** 2, 9);
    expect(start.deliveredEfficiency).toBeCloseTo((stackV * 3.96) / ((busV + 0.2) * 2), 9);
    expect(answer.warnings.map(({ code }) => code)).toEqual([
      'no-heat-balance',
      'asked-current-not-reached',
      'expected-slow-error',
    ]);
    expect(answer.warnings[1].message).toBe(
      '5 A (2 C) asked; at most 3.96 A (1.58 C) flow, held by converter-current of path 1.',
    );
    expect(answer.asked.find(({ about }) => about === 'Source')?.text).toBe(
      '5 to 20 V, 3 A, steps of 0.02 V, steps of 0.05 A.',
    );
    expect(answer.asked.find(({ about }) => about === 'Converter')?.text).toBe(
      'divides by 2, path 1: 3 A 20 mΩ 10 mA fixed loss, path 2: 3 A 60 mΩ 10 mA fixed loss.',
    );
  });

  it('every proposal is a whole number of the source’s steps within what source, cable and converter carry', async () => {
    const answer = await answerOf(
      supply({
        cells: [
          cell('A', 2.5, 0.03, 0.1, {
            thermal: { heatCapacityJPerK: 45, heatTransferWPerK: 0.05 },
            datasheet: { maxVoltageV: 4.2, maxChargeCurrentA: 14.11 },
          }),
          cell('B', 2.5, 0.03, 0.1, {
            thermal: { heatCapacityJPerK: 45, heatTransferWPerK: 0.05 },
            datasheet: { maxVoltageV: 4.2, maxChargeCurrentA: 14.11 },
          }),
        ],
        source: { maxVoltageV: 20, maxCurrentA: 6, voltageStepV: 0.02, currentStepA: 0.05 },
        cable: { resistanceOhm: 0.02, maxCurrentA: 5 },
        converter: {
          ratioStage: { ratio: 2, maxPathCurrentA: 9.5, outputResistanceOhm: 0.01, fixedLossCurrentA: 0.02 },
        },
        questions: { rateSearch: { maxTemperatureC: 40 }, stagedProfile: { maxTemperatureC: 40, stages: 3 } },
      }),
    );
    const proposed = [
      answer.rateSearch?.currentA ?? 0,
      ...(answer.stagedProfile?.stages ?? []).map((s) => s.currentA),
    ];
    expect(proposed.length).toBeGreaterThan(2);
    for (const currentA of proposed) {
      expect(currentA).toBeGreaterThan(1);
      expect(currentA).toBeLessThanOrEqual(9.5 + 1e-9);
      // Bus current = output / 2 + 20 mA, in steps of 50 mA, at most the cable's 5 A.
      const steps = (currentA / 2 + 0.02) / 0.05;
      expect(Math.abs(steps - Math.round(steps))).toBeLessThan(1e-6);
      expect(steps).toBeLessThanOrEqual(100 + 1e-6);
    }
    expect(answer.stagedProfile?.targetTimeS ?? 1e9).toBeLessThanOrEqual(
      answer.stagedProfile?.singleRateTargetTimeS ?? 0,
    );
  });
});

describe('gemel charge FILE and how sure it is', () => {
  const questions = { monteCarlo: { draws: 60 } };
  it('gives no interval where no parameter has an uncertainty, and says so', async () => {
    const answer = await answerOf(study({ questions }));
    expect(answer.monteCarlo).toBeNull();
    expect(answer.warnings.map(({ code }) => code)).toContain('no-uncertainty');
  });

  it('draws R0 and branches with their correlation', async () => {
    const spreadOf = async (r0BranchCorrelation: number) => {
      const uncertainty = { r0Relative: 0.2, branchRelative: 0.2, r0BranchCorrelation };
      const more = { branches: [{ rOhm: 0.05, tauS: 60 }], uncertainty };
      const document = study({
        cells: [cell('A', 2.5, 0.05, 0.1, more)],
        questions: { monteCarlo: { draws: 200 } },
      });
      const { monteCarlo, asked } = await answerOf(document);
      expect(asked.find(({ about }) => about === 'Uncertainty of A')?.text).toContain(
        'R0 20 %, branches 20 %',
      );
      return monteCarlo?.endTimeS.standardDeviation ?? Number.NaN;
    };
    // What R0 gains the branch loses: the sum, which decides, hardly moves.
    expect(await spreadOf(-1)).toBeLessThan(0.3 * (await spreadOf(1)));
  });
});

describe('gemel charge FILE at other temperatures', () => {
  const measured = (more: object = {}, datasheet: object = {}) => {
    const one = (name: string) =>
      cell(name, 2.5, 0.02, 0.1, {
        temperatureC: [25],
        thermal: { heatCapacityJPerK: 45, heatTransferWPerK: 0.05 },
        datasheet: {
          maxVoltageV: 4.2,
          maxChargeCurrentA: 7.5,
          minChargeTemperatureC: -10,
          maxChargeTemperatureC: 45,
          ...datasheet,
        },
      });
    return study({ cells: [one('A'), one('B')], ...more });
  };
  const table = { rateTable: { temperatureC: [-20, 0, 12, 25, 45, 55], resistanceGrowth: [0, 1] } };
  const zones = [
    { fromC: -10, toC: 10, maxCurrentA: 0.5 },
    { fromC: 10, toC: 45 },
  ];
  const rateAt = (answer: Awaited<ReturnType<typeof answerOf>>, temperatureC: number, growth = 0) =>
    answer.rateTable?.entries.find((e) => e.temperatureC === temperatureC && e.resistanceGrowth === growth);

  it('gives no rate in the cold from parameters of 25 °C, and marks what is beyond them', async () => {
    const answer = await answerOf(measured({ questions: table }));
    for (const growth of [0, 1]) {
      expect(rateAt(answer, -20, growth)).toMatchObject({ rateC: null, reason: 'below-minimum-temperature' });
      expect(rateAt(answer, 0, growth)).toMatchObject({ rateC: null, reason: 'not-measured-in-the-cold' });
      expect(rateAt(answer, 12, growth)).toMatchObject({ rateC: null, reason: 'not-measured-in-the-cold' });
      expect(rateAt(answer, 25, growth)).toMatchObject({ reason: null, extrapolated: false });
      expect(rateAt(answer, 55, growth)).toMatchObject({ rateC: null, reason: 'above-maximum-temperature' });
    }
    expect(answer.cautions).toContain('parameters-extrapolated');
  });

  it('gives no more than the datasheet’s current for a temperature that was not measured, with the caution about plating', async () => {
    const answer = await answerOf(measured({ questions: table }, { zones }));
    const cold = rateAt(answer, 0);
    expect(cold).toMatchObject({ binding: 'zone-current', extrapolated: true, reason: null });
    expect(cold?.rateC).toBeCloseTo(0.2, 9);
    // The datasheet names no current of its own there.
    expect(rateAt(answer, 12)).toMatchObject({ rateC: null, reason: 'not-measured-in-the-cold' });
    expect(rateAt(answer, -20)).toMatchObject({ rateC: null, reason: 'below-minimum-temperature' });
    expect(answer.cautions).toContain('lithium-plating-not-modelled');
  });

  it('bounds study, search and stages by the datasheet’s zones, cell by cell', async () => {
    const questions = { rateSearch: {}, stagedProfile: { stages: 2 } };
    const answer = await answerOf(measured({ stack: { ambientTemperatureC: 5 }, questions }, { zones }));
    expect(answer.limits[0]).toMatchObject({ limit: 'zone-current', cell: 0 });
    expect(answer.phases[0].startCurrentA).toBeCloseTo(0.5, 12);
    expect(answer.rateSearch).toMatchObject({ binding: 'zone-current' });
    expect(answer.rateSearch?.currentA).toBeCloseTo(0.5, 9);
    for (const stage of answer.stagedProfile?.stages ?? [])
      expect(stage.currentA).toBeLessThanOrEqual(0.5 + 1e-9);
    expect(answer.cautions).toContain('lithium-plating-not-modelled');
  });

  it('flags parameters of one temperature that are used at another, unless a law carries them there', async () => {
    const cold = await answerOf(measured({ stack: { ambientTemperatureC: 5 } }));
    expect(cold.cells[0].extrapolated).toContain('temperature-outside-table');
    expect(cold.cautions).toContain('parameters-extrapolated');
    expect(cold.warnings.map(({ code }) => code)).toContain('one-temperature-extrapolated');
    const warm = await answerOf(measured({ stack: { ambientTemperatureC: 25 } }));
    expect(warm.cells[0].extrapolated).toEqual([]);
    expect(warm.cautions).not.toContain('lithium-plating-not-modelled');
    const document = measured({ stack: { ambientTemperatureC: 5 } });
    const arrhenius = { activationEnergyJPerMol: 30000, referenceTemperatureC: 25, branchesToo: true };
    const law = await answerOf({ ...document, cells: document.cells.map((one) => ({ ...one, arrhenius })) });
    expect(law.warnings.map(({ code }) => code)).not.toContain('one-temperature-extrapolated');
    // Higher resistances in the cold: the voltage limit comes sooner and the charge lasts longer.
    expect(law.endTimeS).toBeGreaterThan(cold.endTimeS);
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

describe('parameters without slow polarisation', () => {
  it('states the error to expect as times of the voltage limit and the end', async () => {
    const { warnings, endTimeS, limits } = await answerOf(study());
    const [error] = warnings.filter(({ code }) => code === 'expected-slow-error');
    const [, limit, limitHere, end, endHere] =
      /limit at ([\d.]+) instead of ([\d.]+) min .* the end at ([\d.]+) instead of ([\d.]+) min/.exec(
        error.message,
      ) ?? [];
    expect(Number(endHere)).toBeCloseTo(endTimeS / 60, 1);
    expect(Number(limitHere)).toBeCloseTo(limits[1].startTimeS / 60, 1);
    expect(Number(limit)).toBeLessThan(Number(limitHere));
    expect(Number(end)).toBeGreaterThan(Number(endHere));
    // The same charge with what the sentence names, computed by itself.
    const tables = (r0: number) => ({
      branches: [
        { rOhm: r0, tauS: 30 },
        { rOhm: r0, tauS: 1200 },
      ],
    });
    const slower = await answerOf({
      ...study(),
      cells: [cell('A', 2.4, 0.055, 0.15, tables(0.055)), cell('B', 2.5, 0.05, 0.1, tables(0.05))],
    });
    expect(Number(end)).toBeCloseTo(slower.endTimeS / 60, 1);
    expect(slower.warnings.map(({ code }) => code)).not.toContain('expected-slow-error');
  });

  it('is silent for a charge of a few minutes', async () => {
    const short = await answerOf({ ...study(), phases: { stages: [{ currentA: 2.5 }], maxDurationS: 600 } });
    expect(short.warnings.map(({ code }) => code)).not.toContain('expected-slow-error');
  });
});
