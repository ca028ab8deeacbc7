import type { ChargeStudyInput } from '../../../../server/contract/chargeStudy.ts';

/** A range of temperature with its own limits; null: no limit beside the others. */
export interface ZoneInput {
  readonly fromC: number;
  readonly toC: number;
  readonly maxRateC: number | null;
  readonly maxCellVoltageV: number | null;
}

/** One point of the measured efficiency of the converter. */
export interface EfficiencyPoint {
  readonly outputA: number;
  readonly percent: number;
}

/** What a person sets for a charge study; the cells with their fitted parameters come from the stored draft. */
export interface StudyInputs {
  readonly startSocPercent: number;
  readonly ambientTemperatureC: number;
  /** null: the datasheet's. */
  readonly cellVoltageLimitV: number | null;
  readonly stages: readonly { readonly rateC: number; readonly untilSocPercent: number | null }[];
  readonly endRateC: number;
  readonly maxTemperatureC: number | null;
  readonly bypassCurrentA: number | null;
  readonly bypassStartV: number | null;
  readonly sourceMaxV: number | null;
  readonly sourceMaxA: number | null;
  readonly sourceMaxW: number | null;
  readonly cableMilliohm: number | null;
  readonly cableMaxA: number | null;
  /** 0: no converter, the source drives the stack directly. */
  readonly ratio: 0 | 1 | 2 | 4;
  readonly paths: number;
  readonly pathMaxA: number;
  readonly efficiencyPercent: number;
  /** Empty: none but the datasheet's window. Outside every zone the charge pauses. */
  readonly zones: readonly ZoneInput[];
  readonly zoneHysteresisK: number;
  /** null: no precharge. */
  readonly prechargeBelowV: number | null;
  readonly prechargeRateC: number;
  /** The current goes down by the source's step each time a cell reaches its limit. */
  readonly steppedTaper: boolean;
  readonly sourceStepA: number | null;
  /** null: no switching regulator. */
  readonly regulatorMaxA: number | null;
  readonly regulatorInputV: number;
  readonly regulatorHeadroomV: number;
  readonly regulatorEfficiencyPercent: number;
  /** Below these the regulator takes over from the fixed ratio. */
  readonly regulatorBelowStackV: number | null;
  readonly regulatorBelowOutputA: number | null;
  /** At least two points replace the one efficiency of the converter. */
  readonly efficiencyTable: readonly EfficiencyPoint[];
  readonly targetSocPercent: number;
  readonly rateSearch: boolean;
  readonly stagedProfile: boolean;
  readonly stackOnly: boolean;
  readonly draws: number;
  readonly rateTable: boolean;
}

export const startingInputs: StudyInputs = {
  startSocPercent: 10,
  ambientTemperatureC: 25,
  cellVoltageLimitV: null,
  stages: [{ rateC: 1, untilSocPercent: null }],
  endRateC: 0.05,
  maxTemperatureC: null,
  bypassCurrentA: null,
  bypassStartV: null,
  sourceMaxV: null,
  sourceMaxA: null,
  sourceMaxW: null,
  cableMilliohm: null,
  cableMaxA: null,
  ratio: 0,
  paths: 1,
  pathMaxA: 5,
  efficiencyPercent: 97,
  zones: [],
  zoneHysteresisK: 1,
  prechargeBelowV: null,
  prechargeRateC: 0.1,
  steppedTaper: false,
  sourceStepA: null,
  regulatorMaxA: null,
  regulatorInputV: 9,
  regulatorHeadroomV: 0.3,
  regulatorEfficiencyPercent: 93,
  regulatorBelowStackV: null,
  regulatorBelowOutputA: null,
  efficiencyTable: [],
  targetSocPercent: 80,
  rateSearch: true,
  stagedProfile: false,
  stackOnly: true,
  draws: 0,
  rateTable: false,
};

/** The draft of the cells with the inputs laid over it: the document that is computed and stored. */
export function describeStudy(draft: ChargeStudyInput, inputs: StudyInputs, live: boolean): ChargeStudyInput {
  const { source: _, cable: __, converter: ___, ...rest } = draft;
  return {
    ...rest,
    cells: draft.cells.map((cell) => ({ ...cell, startSoc: inputs.startSocPercent / 100 })),
    stack: {
      ...draft.stack,
      ambientTemperatureC: inputs.ambientTemperatureC,
      ...given('cellVoltageLimitV', inputs.cellVoltageLimitV),
      ...given('maxTemperatureC', inputs.maxTemperatureC),
      ...bypassOf(draft, inputs),
    },
    phases: {
      ...draft.phases,
      stages: inputs.stages.map((stage) => ({
        rateC: stage.rateC,
        ...(stage.untilSocPercent === null ? {} : { until: { socAtLeast: stage.untilSocPercent / 100 } }),
      })),
      end: { rateC: inputs.endRateC },
      ...(inputs.prechargeBelowV === null
        ? {}
        : { precharge: { belowCellVoltageV: inputs.prechargeBelowV, rateC: inputs.prechargeRateC } }),
      ...(inputs.steppedTaper ? { taper: 'stepped' as const } : {}),
    },
    ...zonesOf(inputs),
    ...supplyOf(inputs),
    questions: questionsOf(inputs, live),
  };
}

function given<K extends string>(name: K, value: number | null): Partial<Record<K, number>> {
  return value === null ? {} : ({ [name]: value } as Record<K, number>);
}

function bypassOf(draft: ChargeStudyInput, inputs: StudyInputs): Partial<ChargeStudyInput['stack']> {
  const { bypassCurrentA: currentA, bypassStartV: startVoltageV } = inputs;
  if (currentA === null || startVoltageV === null) return {};
  const each = { kind: 'current', currentA, startVoltageV, stopVoltageV: startVoltageV - 0.02 } as const;
  return { bypass: draft.cells.map(() => each) };
}

function zonesOf({
  zones,
  zoneHysteresisK,
}: StudyInputs): Pick<ChargeStudyInput, 'temperatureZones' | 'zoneHysteresisK'> {
  if (zones.length === 0) return {};
  const temperatureZones = zones.map(({ fromC, toC, maxRateC, maxCellVoltageV }) => ({
    fromC,
    toC,
    ...given('maxRateC', maxRateC),
    ...given('maxCellVoltageV', maxCellVoltageV),
  }));
  return { temperatureZones, zoneHysteresisK };
}

function supplyOf(inputs: StudyInputs): Pick<ChargeStudyInput, 'source' | 'cable' | 'converter'> {
  if (inputs.sourceMaxV === null || inputs.sourceMaxA === null) return {};
  const converter = converterOf(inputs);
  return {
    source: {
      maxVoltageV: inputs.sourceMaxV,
      maxCurrentA: inputs.sourceMaxA,
      ...given('maxPowerW', inputs.sourceMaxW),
      ...given('currentStepA', inputs.sourceStepA),
    },
    ...(inputs.cableMilliohm === null
      ? {}
      : {
          cable: { resistanceOhm: inputs.cableMilliohm / 1000, ...given('maxCurrentA', inputs.cableMaxA) },
        }),
    ...(converter.ratioStage === undefined && converter.regulator === undefined ? {} : { converter }),
  };
}

function converterOf(inputs: StudyInputs): NonNullable<ChargeStudyInput['converter']> {
  return {
    ...(inputs.ratio === 0
      ? {}
      : {
          ratioStage: {
            ratio: inputs.ratio,
            paths: inputs.paths,
            maxPathCurrentA: inputs.pathMaxA,
            efficiency: efficiencyOf(inputs),
            ...given('minStackVoltageV', inputs.regulatorBelowStackV),
            ...given('minOutputCurrentA', inputs.regulatorBelowOutputA),
          },
        }),
    ...(inputs.regulatorMaxA === null
      ? {}
      : {
          regulator: {
            maxOutputCurrentA: inputs.regulatorMaxA,
            inputVoltageV: inputs.regulatorInputV,
            headroomV: inputs.regulatorHeadroomV,
            efficiency: inputs.regulatorEfficiencyPercent / 100,
          },
        }),
  };
}

function efficiencyOf({ efficiencyTable, efficiencyPercent }: StudyInputs) {
  if (efficiencyTable.length < 2) return efficiencyPercent / 100;
  const points = [...efficiencyTable].sort((a, b) => a.outputA - b.outputA);
  return {
    outputCurrentA: points.map((p) => p.outputA),
    efficiency: points.map((p) => p.percent / 100),
  };
}

/** While somebody types only the charge itself is asked for; the long questions wait until the study is kept. */
function questionsOf(inputs: StudyInputs, live: boolean): NonNullable<ChargeStudyInput['questions']> {
  const targetSoc = inputs.targetSocPercent / 100;
  const hot = given('maxTemperatureC', inputs.maxTemperatureC);
  return {
    stackOnly: inputs.stackOnly,
    seriesStepS: 10,
    timesAtSoc: [targetSoc],
    ...(inputs.rateSearch && !live ? { rateSearch: { targetSoc, ...hot } } : {}),
    ...(inputs.stagedProfile && !live ? { stagedProfile: { targetSoc, ...hot } } : {}),
    ...(inputs.draws >= 10 && !live ? { monteCarlo: { draws: inputs.draws } } : {}),
    ...(inputs.rateTable && !live ? { rateTable: { temperatureC: [0, 10, 25, 40], ...hot } } : {}),
  };
}

/** What differs from the starting inputs, as text for the address. */
export function inputsText(inputs: StudyInputs): string {
  const changed = Object.entries(inputs).filter(
    ([name, value]) => JSON.stringify(value) !== JSON.stringify(startingInputs[name as keyof StudyInputs]),
  );
  return changed.length === 0 ? '' : JSON.stringify(Object.fromEntries(changed));
}

/** The inputs of an address; what is unknown or of another type than it should be is left at its start. */
export function inputsOfText(text: string): StudyInputs {
  if (text === '') return startingInputs;
  try {
    const stored = JSON.parse(text) as Record<string, unknown>;
    const entries = Object.entries(startingInputs).map(([name, start]) => {
      const value = stored[name];
      const fits =
        value !== undefined &&
        (start === null
          ? value === null || typeof value === 'number'
          : typeof value === typeof start && Array.isArray(value) === Array.isArray(start));
      return [name, fits ? value : start];
    });
    return Object.fromEntries(entries) as StudyInputs;
  } catch {
    return startingInputs;
  }
}
