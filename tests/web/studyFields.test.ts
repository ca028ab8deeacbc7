import { describe, expect, it } from 'vitest';
import { z } from 'zod';
import { chargeSetupOf } from '../../server/assess/charging/chargeSetupOf.ts';
import { studyCharge } from '../../server/assess/charging/studyCharge.ts';
import { type ChargeStudyInput, chargeStudyDescription } from '../../server/contract/chargeStudy.ts';
import { describeStudy } from '../../web/src/pages/charge/describeStudy.ts';
import { inputGaps } from '../../web/src/pages/charge/inputGaps.ts';
import { inputsOfStudy, lostOf } from '../../web/src/pages/charge/inputsOfStudy.ts';
import { type StudyInputs, startingInputs } from '../../web/src/pages/charge/studyInputs.ts';

interface JsonSchema {
  readonly properties?: Readonly<Record<string, JsonSchema>>;
  readonly items?: JsonSchema;
  readonly anyOf?: readonly JsonSchema[];
  readonly oneOf?: readonly JsonSchema[];
}

/** Every field of the contract that holds a value, as `a.b[].c`. */
function leavesOf(schema: JsonSchema, at = ''): string[] {
  const branches = [...(schema.anyOf ?? []), ...(schema.oneOf ?? [])];
  if (branches.length > 0) return branches.flatMap((one) => leavesOf(one, at));
  if (schema.items !== undefined) return leavesOf(schema.items, `${at}[]`);
  if (schema.properties === undefined) return [at];
  return Object.entries(schema.properties).flatMap(([name, one]) =>
    leavesOf(one, at === '' ? name : `${at}.${name}`),
  );
}

function leavesIn(value: unknown, at = ''): string[] {
  if (Array.isArray(value)) return value.flatMap((one) => leavesIn(one, `${at}[]`));
  if (typeof value !== 'object' || value === null) return [at];
  return Object.entries(value).flatMap(([name, one]) => leavesIn(one, at === '' ? name : `${at}.${name}`));
}

const draft: ChargeStudyInput = {
  schemaVersion: 1,
  cells: ['A', 'B'].map((name) => ({
    name,
    capacityAh: 2.2,
    soc: [0, 1],
    ocvV: [3, 4.15],
    r0Ohm: 0.02,
    startSoc: 0.5,
    datasheet: { maxVoltageV: 4.2, maxChargeCurrentA: 4.4 },
  })),
  stack: { ambientTemperatureC: 25 },
  phases: { stages: [{ rateC: 1 }] },
  questions: {
    rateSearch: { life: { cyclesAtReference: 500, referenceRateC: 1, referenceTemperatureC: 25 } },
  },
};

/** A source behind which every part of the supply counts. */
const supplied = { sourceMinV: 3, sourceMaxV: 20, sourceMaxA: 5, sourceMaxW: 60, ratio: 2 } as const;

/** Inputs that together enter everything the page has a field for; each makes a study of its own. */
const entered: readonly Partial<StudyInputs>[] = [
  {
    ...supplied,
    startSocOfCells: [20, null],
    startTemperatureC: 30,
    heatCapacityJPerK: 45,
    heatTransferWPerK: 0.2,
    cellVoltageLimitV: 4.15,
    maxTemperatureC: 45,
    stages: [
      { rateC: 1, untilSocPercent: 60, untilCellV: 4.1, untilC: 40, untilMinutes: 30 },
      { rateC: 0.5, untilSocPercent: null },
    ],
    bypassCurrentA: 0.1,
    bypassStartV: 4.1,
    bypassStopV: 4.05,
    bypassAtRest: true,
    toSenseMilliohm: 4,
    beyondSenseMilliohm: 2,
    cableMilliohm: 80,
    cableMaxA: 3,
    unlikePaths: [
      { maxA: 4, milliohm: 20, fixedLossMilliamp: 5 },
      { maxA: 4, milliohm: 30, fixedLossMilliamp: 5 },
    ],
    zones: [{ fromC: 0, toC: 50, maxRateC: 1, maxCellVoltageV: 4.1 }],
    zoneHysteresisK: 2,
    prechargeBelowV: 3.2,
    steppedTaper: true,
    sourceStepA: 0.05,
    sourceStepV: 0.02,
    restAfterMinutes: 10,
    longestHours: 6,
    regulatorMaxA: 2,
    regulatorBelowStackV: 6,
    regulatorBelowOutputA: 0.5,
  },
  {
    ...supplied,
    bypassOhm: 40,
    bypassStartV: 4.1,
    paths: 2,
    operatingPoints: [
      { outputV: 7.4, outputA: 1, inputV: 14.9, inputA: 0.51, efficiencyPercent: null },
      { outputV: 8, outputA: 4, inputV: 16.2, inputA: 2.02, efficiencyPercent: null },
    ],
    maxTemperatureC: 44,
    regulatorMaxA: 2,
    regulatorEfficiencyTable: [
      { outputA: 0, percent: 90 },
      { outputA: 2, percent: 94 },
    ],
    rateSearch: true,
    withLife: true,
    leastRateC: 0.1,
    mostRateC: 1.5,
    leastSocAtLimitPercent: 50,
    tradeOffPoints: 5,
    stagedProfile: true,
    profileStages: 3,
    draws: 10,
    drawSeed: 7,
    drawLevelPercent: 90,
    capacityUncertaintyPercent: 1,
    r0UncertaintyPercent: 2,
    branchUncertaintyPercent: 3,
    resistanceCorrelation: -0.4,
    ocvUncertaintyMillivolt: 2,
    startSocUncertaintyPercent: 1,
    startTemperatureUncertaintyK: 1,
    heatCapacityUncertaintyPercent: 10,
    heatTransferUncertaintyPercent: 20,
    rateTable: true,
    rateTableC: [10, 25],
    rateTableGrowthPercent: [0, 50],
  },
  {
    ...supplied,
    paths: 2,
    efficiencyTable: [
      { outputA: 0, percent: 95 },
      { outputA: 4, percent: 97 },
    ],
    watch: 'stack-only',
    stackVoltageLimitV: 8.3,
  },
  { ...supplied, pathMilliohm: 30, pathFixedLossMilliamp: 12 },
  {
    ...supplied,
    operatingPoints: [
      { outputV: 7.4, outputA: 1, inputV: null, inputA: null, efficiencyPercent: 95 },
      { outputV: 8, outputA: 4, inputV: null, inputA: null, efficiencyPercent: 96 },
    ],
  },
  supplied,
];

/**
 * What the page does not ask for, and why: it comes with the fitted cells or their cell type, is laid down by the page, or is
 * the same quantity as a field in another unit (C in place of A).
 */
const fromElsewhere: readonly RegExp[] = [
  /^(schemaVersion|name|notes\[\]\.)/,
  /^cells\[\]\.(name|chemistry|capacityAh|ratedCapacityAh|soc|temperatureC|ocv|r0Ohm|branches|arrhenius|entropic)/,
  /^cells\[\]\.datasheet\./,
  // No bypass at one of the cells: on the page all have the same.
  /^stack\.bypass\[\]$/,
  // A kept source, cable or converter whose values were taken over; the command and HTTP name it.
  /^(source|cable|converter)\.part\./,
  // Kept beside the measured points of a converter: they say how far its parameters can be off, and change no study.
  /^converter\.ratioStage\.operatingPoints\.(points\[\]\.temperatureC|meters\.)/,
  /^phases\.(precharge|stages\[\]|end)\.currentA$/,
  /^temperatureZones\[\]\.maxCurrentA$/,
  /^questions\.rateSearch\.life\./,
];

const studies = entered.map((inputs) => describeStudy(draft, { ...startingInputs, ...inputs }, false));

describe('the page of a charge study', () => {
  it('has a field for everything that a study can say and that does not come with the cells', () => {
    const contract = new Set(leavesOf(z.toJSONSchema(chargeStudyDescription, { io: 'input' }) as JsonSchema));
    const onPage = new Set(studies.flatMap((study) => leavesIn(study)));
    const lacking = [...contract].filter(
      (leaf) => !onPage.has(leaf) && !fromElsewhere.some((pattern) => pattern.test(leaf)),
    );
    expect(contract.size).toBeGreaterThan(90);
    expect(lacking).toEqual([]);
  });

  it.each(entered.map((inputs, i) => [i + 1, inputs] as const))(
    'makes a study that is computed of the inputs %i, and none of them is dropped',
    (i, inputs) => {
      expect(inputGaps({ ...startingInputs, ...inputs })).toEqual([]);
      const description = chargeStudyDescription.parse(studies[i - 1]);
      expect(() => chargeSetupOf(description)).not.toThrow();
      expect(studyCharge({ ...description, questions: { stackOnly: false } }).endTimeS).toBeGreaterThan(0);
    },
  );

  it.each(studies.map((study, i) => [i + 1, study] as const))(
    'begins a new study from the stored study %i with everything that was entered',
    (_, study) => {
      const stored = chargeStudyDescription.parse(study);
      const again = describeStudy(draft, inputsOfStudy(stored), false);
      expect(chargeStudyDescription.parse(again)).toEqual(stored);
      expect(lostOf(stored, again)).toEqual([]);
    },
  );

  it('makes rates of the currents of a study that a program sent, and names what it has no field for', () => {
    const [base] = studies;
    const stored = chargeStudyDescription.parse({
      ...base,
      stack: {
        ambientTemperatureC: 25,
        bypass: [null, { kind: 'current', currentA: 0.1, startVoltageV: 4.1, stopVoltageV: 4.05 }],
      },
      phases: { stages: [{ currentA: 4.4 }], end: { currentA: 0.11 } },
      questions: { rateSearch: { targetSoc: 0.8, maxTemperatureC: 40 } },
    });
    const inputs = inputsOfStudy(stored);
    expect(inputs).toMatchObject({ stages: [{ rateC: 2 }], endRateC: 0.05 });
    expect(lostOf(stored, describeStudy(draft, inputs, false))).toEqual([
      'stack.bypass.0',
      'questions.rateSearch.maxTemperatureC',
    ]);
  });

  it.each<[string, Partial<StudyInputs>, RegExp]>([
    ['a bypass of two kinds', { bypassCurrentA: 1, bypassOhm: 40, bypassStartV: 4.1 }, /not both/],
    ['a stop voltage without a bypass', { bypassStopV: 4 }, /Bypass: enter its current or resistance/],
    [
      'a list of paths beside operating points',
      {
        ...supplied,
        unlikePaths: [{ maxA: 4, milliohm: 20, fixedLossMilliamp: 5 }],
        operatingPoints: [
          { outputV: 7, outputA: 1, inputV: null, inputA: null, efficiencyPercent: 96 },
          { outputV: 8, outputA: 4, inputV: null, inputA: null, efficiencyPercent: 97 },
        ],
      },
      /given twice/,
    ],
    [
      'an operating point without its input',
      {
        ...supplied,
        operatingPoints: [
          { outputV: 7, outputA: 1, inputV: 14, inputA: null, efficiencyPercent: null },
          { outputV: 8, outputA: 4, inputV: null, inputA: null, efficiencyPercent: 97 },
        ],
      },
      /Operating point 1: enter input voltage and input current/,
    ],
    [
      'a stage without an end before another',
      {
        stages: [
          { rateC: 1, untilSocPercent: null },
          { rateC: 0.5, untilSocPercent: null },
        ],
      },
      /Stage 1: enter until when/,
    ],
    ['half a heat balance', { heatCapacityJPerK: 45 }, /heat capacity and heat transfer, or neither/],
    ['too few draws', { draws: 5 }, /at least 10/],
  ])('says %s before anything is computed', (_, inputs, sentence) => {
    expect(inputGaps({ ...startingInputs, ...inputs }).join(' ')).toMatch(sentence);
  });
});
