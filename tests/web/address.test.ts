import { describe, expect, it } from 'vitest';
import { studyCharge } from '../../server/assess/charging/studyCharge.ts';
import { chargeStudyDescription } from '../../server/contract/chargeStudy.ts';
import { describeStudy } from '../../web/src/pages/charge/describeStudy.ts';
import { inputGaps } from '../../web/src/pages/charge/inputGaps.ts';
import {
  inputsOfText,
  inputsText,
  type StudyInputs,
  startingInputs,
} from '../../web/src/pages/charge/studyInputs.ts';
import {
  choiceOfText,
  choiceText,
  criteriaDocument,
  pairsOfText,
  startingFeature,
} from '../../web/src/pages/pairings/criteriaForm.ts';
import { windowOf, windowTextOf } from '../../web/src/pages/test/recordWindow.ts';
import { idsOfRanges, rangesOf } from '../../web/src/parts/idRanges.ts';
import { sortingOf } from '../../web/src/tables/sorting.ts';
import { noteWords } from '../../web/src/words/studyNotes.ts';

describe('what a view keeps in its address', () => {
  it('are ids as ranges, whatever their order', () => {
    expect(rangesOf([7, 5, 6, 60, 5])).toBe('5-7,60');
    expect(idsOfRanges('5-7,60')).toEqual([5, 6, 7, 60]);
    expect(rangesOf([])).toBe('');
    expect(idsOfRanges('x,-3,9-5,1-99999999')).toEqual([]);
  });

  it('is a sorting, downwards with a minus', () => {
    expect(sortingOf('-capacity')).toEqual([{ id: 'capacity', desc: true }]);
    expect(sortingOf('serial')).toEqual([{ id: 'serial', desc: false }]);
    expect(sortingOf('')).toEqual([]);
  });

  it('are the criteria of a pairing, and a broken text is none', () => {
    const choice = {
      features: [{ key: 'capacity/25C', kind: 'percent', tolerance: 1, importance: 2, limitFactor: null }],
      objective: 'least-worst-then-total',
      missingValues: 'refuse',
      outlierLimit: null,
      signsIgnored: ['low-ocv'],
      purpose: 'fast-charging',
      chargeCurrentA: 2.2,
      cellsPerStack: 3,
      together: 'A + B',
      apart: '',
      heldBack: 'C',
    } as const;
    expect(choiceOfText(choiceText(choice))).toEqual(choice);
    expect(choiceOfText('{')).toBeNull();
    expect(pairsOfText('A + B, C, D + E + F, G+H')).toEqual([
      ['A', 'B'],
      ['G', 'H'],
    ]);
  });

  it('asks for a feature at the temperature of its column, so that what was measured beside it is carried there', () => {
    const column = (key: string, temperatureC: number | null) => ({
      key,
      quantity: 'resistance' as const,
      unit: 'Ohm',
      durationS: 10,
      direction: 'discharge' as const,
      soc: 0.5,
      temperatureC,
      method: null,
      cellCount: 4,
    });
    const columns = [column('resistance/10s/discharge/soc50/10C', 10), column('resistance/10s', null)];
    const choice = choiceOfText('[[],0,0,null,null,2,"","",""]');
    const { features } = criteriaDocument(
      { ...choice!, features: columns.map(startingFeature) },
      columns,
      'p',
    );
    expect(features.map((f) => f.condition)).toMatchObject([
      { durationS: 10, soc: 0.5, temperatureC: 10, direction: 'discharge' },
      { temperatureC: null },
    ]);
  });

  it('are the inputs of a charge study, with what is unknown or of another type at its start', () => {
    const inputs = { ...startingInputs, startSocPercent: 20, sourceMaxV: 9 };
    expect(inputsOfText(inputsText(inputs))).toEqual(inputs);
    expect(inputsText(startingInputs)).toBe('');
    expect(inputsOfText('{"startSocPercent":"much","unknown":1}')).toEqual(startingInputs);
    expect(inputsOfText('nonsense')).toEqual(startingInputs);
  });
});

describe('the stretch of a record in an address', () => {
  it('is moved inside the record where it hangs over an edge, and keeps its width', () => {
    expect(windowTextOf(-50, 150, 1000)).toBe('0.0-200.0');
    expect(windowTextOf(900, 1100, 1000)).toBe('800.0-1000.0');
    expect(windowTextOf(-500, 3000, 1000)).toBe('0-1000');
  });

  it('is read again as it was written, and another text is none', () => {
    expect(windowOf(windowTextOf(120, 450.5, 1000))).toEqual({ from: 120, to: 450.5 });
    expect(windowOf('450-120')).toBeNull();
    expect(windowOf('from the start')).toBeNull();
  });
});

describe('the notes of a draft', () => {
  it('are said once for all cells they are said of', () => {
    const notes = ['A1: from rests.', 'No limit is known.', 'A2: from rests.', 'A2: at 25 °C only.'];
    expect(noteWords(notes.map((message) => ({ code: 'told', message })))).toEqual(
      ['A1, A2: from rests.', 'No limit is known.', 'A2: at 25 °C only.'].map((text) => ({
        text,
        exact: null,
      })),
    );
  });
});

describe('the description of a charge study', () => {
  const draft = {
    schemaVersion: 1,
    cells: [
      {
        name: 'A',
        capacityAh: 2.2,
        soc: [0, 1],
        ocvV: [3, 4.2],
        r0Ohm: 0.02,
        startSoc: 0.5,
        datasheet: { maxVoltageV: 4.2, maxChargeCurrentA: 4.4 },
      },
    ],
    stack: { ambientTemperatureC: 25 },
    phases: { stages: [{ rateC: 1 }] },
  } as const;
  const plain = JSON.parse(JSON.stringify(draft));

  it('lays the inputs over the fitted cells and leaves out what was not given', () => {
    const study = describeStudy(plain, { ...startingInputs, startSocPercent: 20 }, false);
    expect(study.cells[0].startSoc).toBe(0.2);
    expect(study.stack).toEqual({ ambientTemperatureC: 25 });
    expect(study.source).toBeUndefined();
    expect(study.converter).toBeUndefined();
    expect(study.questions?.rateSearch).toEqual({ targetSoc: 0.8 });
  });

  it('asks the long questions only when the study is kept', () => {
    const inputs = { ...startingInputs, draws: 500, stagedProfile: true, rateTable: true };
    const live = describeStudy(plain, inputs, true);
    expect(Object.keys(live.questions ?? {}).sort()).toEqual(['seriesStepS', 'stackOnly', 'timesAtSoc']);
    const kept = describeStudy(plain, inputs, false);
    expect(kept.questions?.monteCarlo).toEqual({ draws: 500 });
  });

  it('describes source, cable, converter and bypass in the contract’s units', () => {
    const study = describeStudy(
      plain,
      {
        ...startingInputs,
        sourceMaxV: 20,
        sourceMaxA: 3,
        cableMilliohm: 80,
        ratio: 2,
        paths: 2,
        bypassCurrentA: 0.1,
        bypassStartV: 4.1,
      },
      false,
    );
    expect(study.cable).toEqual({ resistanceOhm: 0.08 });
    expect(study.converter?.ratioStage).toMatchObject({ ratio: 2, paths: 2, efficiency: 0.97 });
    expect(study.stack.bypass?.[0]).toMatchObject({ kind: 'current', currentA: 0.1, startVoltageV: 4.1 });
  });

  it('a cable’s current counts without its resistance, and every loss of the converter goes where it was entered', () => {
    const study = describeStudy(
      plain,
      {
        ...startingInputs,
        sourceMinV: 5,
        sourceMaxV: 20,
        sourceMaxA: 5,
        sourceStepV: 0.02,
        cableMaxA: 3,
        ratio: 2,
        paths: 2,
        pathMilliohm: 30,
        pathFixedLossMilliamp: 12,
        toSenseMilliohm: 4,
        beyondSenseMilliohm: 1,
      },
      false,
    );
    expect(study.cable).toEqual({ resistanceOhm: 0, maxCurrentA: 3 });
    expect(study.source).toMatchObject({ minVoltageV: 5, voltageStepV: 0.02 });
    expect(study.converter?.ratioStage).toEqual({
      ratio: 2,
      paths: 2,
      maxPathCurrentA: 5,
      outputResistanceOhm: 0.03,
      fixedLossCurrentA: 0.012,
    });
    expect(study.stack.seriesResistance).toEqual({ toSensePointOhm: 0.004, beyondSensePointOhm: 0.001 });
    const result = studyCharge(chargeStudyDescription.parse({ ...study, questions: {} }));
    expect(result.limits[0].limit).not.toBe('source-current');
    expect(result.asked.map((line) => line.about)).toEqual([
      'Charge',
      'Cells',
      'Stack resistance',
      'Source',
      'Cable',
      'Converter',
    ]);
  });

  it('what was entered and would not count is named before anything is computed', () => {
    const gaps = (more: Partial<StudyInputs>) => inputGaps({ ...startingInputs, ...more }).join(' ');
    expect(gaps({})).toBe('');
    expect(gaps({ cableMaxA: 3 })).toContain('Source: enter its highest voltage.');
    expect(gaps({ sourceMaxV: 20 })).toContain('Source: enter its highest current.');
    expect(gaps({ bypassCurrentA: 0.1 })).toContain('Bypass: enter the cell voltage');
    expect(gaps({ bypassStartV: 4.1 })).toContain('Bypass: enter its current');
    const source = { sourceMaxV: 20, sourceMaxA: 5 };
    expect(gaps(source)).toBe('');
    expect(gaps({ ...source, steppedTaper: true })).toContain('enter the current step');
    expect(gaps({ ...source, pathMilliohm: 20 })).toContain('Converter: choose its ratio');
    const points = [
      { outputA: 1, percent: 95 },
      { outputA: 5, percent: 97 },
    ];
    expect(gaps({ ...source, ratio: 2, efficiencyTable: points })).toBe('');
    expect(gaps({ ...source, ratio: 2, efficiencyTable: points.slice(1) })).toContain('enter a second point');
    expect(gaps({ ...source, ratio: 2, efficiencyTable: points, pathMilliohm: 20 })).toContain('given twice');
    expect(gaps({ ...source, ratio: 2, regulatorBelowStackV: 6 })).toContain('Regulator: it takes over');
  });

  it('describes zones, precharge, a stepped taper and a regulator so that the charge can be computed', () => {
    const study = describeStudy(
      plain,
      {
        ...startingInputs,
        startSocPercent: 0,
        zones: [{ fromC: 10, toC: 45, maxRateC: 0.5, maxCellVoltageV: null }],
        prechargeBelowV: 3.1,
        steppedTaper: true,
        sourceMaxV: 20,
        sourceMaxA: 5,
        sourceStepA: 0.05,
        ratio: 2,
        regulatorMaxA: 1,
        regulatorBelowStackV: 3.05,
        efficiencyTable: [
          { outputA: 5, percent: 96 },
          { outputA: 0, percent: 90 },
        ],
      },
      true,
    );
    expect(study.temperatureZones).toEqual([{ fromC: 10, toC: 45, maxRateC: 0.5 }]);
    expect(study.phases).toMatchObject({
      precharge: { belowCellVoltageV: 3.1, rateC: 0.1 },
      taper: 'stepped',
    });
    expect(study.converter?.ratioStage?.efficiency).toEqual({
      outputCurrentA: [0, 5],
      efficiency: [0.9, 0.96],
    });
    const result = studyCharge(chargeStudyDescription.parse(study));
    expect(result.phases[0]).toMatchObject({ kind: 'precharge', converterMode: 'regulator' });
    const fast = result.phases.filter((p) => p.kind === 'constant-current');
    expect(Math.max(...fast.map((p) => p.startCurrentA))).toBeLessThanOrEqual(0.5 * 2.2 + 1e-9);
    expect(result.limits.map((l) => l.limit)).toContain('zone-current');
  });
});
