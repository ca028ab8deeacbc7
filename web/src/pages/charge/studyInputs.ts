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
  /** Between charger and cells, up to the point where the voltage is sensed and beyond it. */
  readonly toSenseMilliohm: number | null;
  readonly beyondSenseMilliohm: number | null;
  readonly sourceMinV: number | null;
  readonly sourceMaxV: number | null;
  readonly sourceMaxA: number | null;
  readonly sourceMaxW: number | null;
  readonly cableMilliohm: number | null;
  readonly cableMaxA: number | null;
  /** 0: no converter, the source drives the stack directly. */
  readonly ratio: 0 | 1 | 2 | 4;
  readonly paths: number;
  readonly pathMaxA: number;
  /** Counts where no resistance, fixed loss or table is given. */
  readonly efficiencyPercent: number;
  /** Of each path. */
  readonly pathMilliohm: number | null;
  readonly pathFixedLossMilliamp: number | null;
  /** Empty: none but the datasheet's window. Outside every zone the charge pauses. */
  readonly zones: readonly ZoneInput[];
  readonly zoneHysteresisK: number;
  /** null: no precharge. */
  readonly prechargeBelowV: number | null;
  readonly prechargeRateC: number;
  /** The current goes down by the source's step each time a cell reaches its limit. */
  readonly steppedTaper: boolean;
  readonly sourceStepA: number | null;
  readonly sourceStepV: number | null;
  /** null: no switching regulator. */
  readonly regulatorMaxA: number | null;
  readonly regulatorKind: 'step-down' | 'step-up' | 'step-up-down';
  readonly regulatorInputV: number;
  readonly regulatorHeadroomV: number;
  readonly regulatorEfficiencyPercent: number;
  /** Below these the regulator takes over from the fixed ratio. */
  readonly regulatorBelowStackV: number | null;
  readonly regulatorBelowOutputA: number | null;
  /** At least two points replace the one efficiency of the converter. */
  readonly efficiencyTable: readonly EfficiencyPoint[];
  readonly efficiencyTableOf: 'one-path' | 'all-paths';
  readonly targetSocPercent: number;
  readonly rateSearch: boolean;
  readonly stagedProfile: boolean;
  readonly stackOnly: boolean;
  readonly draws: number;
  /** Standard uncertainties of every cell; null: those of its fits. */
  readonly capacityUncertaintyPercent: number | null;
  readonly r0UncertaintyPercent: number | null;
  readonly branchUncertaintyPercent: number | null;
  readonly ocvUncertaintyMillivolt: number | null;
  readonly startSocUncertaintyPercent: number | null;
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
  toSenseMilliohm: null,
  beyondSenseMilliohm: null,
  sourceMinV: null,
  sourceMaxV: null,
  sourceMaxA: null,
  sourceMaxW: null,
  cableMilliohm: null,
  cableMaxA: null,
  ratio: 0,
  paths: 1,
  pathMaxA: 5,
  efficiencyPercent: 97,
  pathMilliohm: null,
  pathFixedLossMilliamp: null,
  zones: [],
  zoneHysteresisK: 1,
  prechargeBelowV: null,
  prechargeRateC: 0.1,
  steppedTaper: false,
  sourceStepA: null,
  sourceStepV: null,
  regulatorMaxA: null,
  regulatorKind: 'step-down',
  regulatorInputV: 9,
  regulatorHeadroomV: 0.3,
  regulatorEfficiencyPercent: 93,
  regulatorBelowStackV: null,
  regulatorBelowOutputA: null,
  efficiencyTable: [],
  efficiencyTableOf: 'all-paths',
  targetSocPercent: 80,
  rateSearch: true,
  stagedProfile: false,
  stackOnly: true,
  draws: 0,
  capacityUncertaintyPercent: null,
  r0UncertaintyPercent: null,
  branchUncertaintyPercent: null,
  ocvUncertaintyMillivolt: null,
  startSocUncertaintyPercent: null,
  rateTable: false,
};

/** The draft of the cells with the inputs laid over it: the document that is computed and stored. */
export function describeStudy(draft: ChargeStudyInput, inputs: StudyInputs, live: boolean): ChargeStudyInput {
  const { source: _, cable: __, converter: ___, ...rest } = draft;
  return {
    ...rest,
    cells: draft.cells.map((cell) => ({
      ...cell,
      startSoc: inputs.startSocPercent / 100,
      uncertainty: { ...cell.uncertainty, ...uncertaintyOf(inputs) },
    })),
    stack: {
      ...draft.stack,
      ambientTemperatureC: inputs.ambientTemperatureC,
      ...given('cellVoltageLimitV', inputs.cellVoltageLimitV),
      ...given('maxTemperatureC', inputs.maxTemperatureC),
      ...bypassOf(draft, inputs),
      ...seriesResistanceOf(inputs),
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

function uncertaintyOf(inputs: StudyInputs): ChargeStudyInput['cells'][number]['uncertainty'] {
  const part = (value: number | null, of: number) => (value === null ? null : value / of);
  return {
    ...given('capacityRelative', part(inputs.capacityUncertaintyPercent, 100)),
    ...given('r0Relative', part(inputs.r0UncertaintyPercent, 100)),
    ...given('branchRelative', part(inputs.branchUncertaintyPercent, 100)),
    ...given('ocvV', part(inputs.ocvUncertaintyMillivolt, 1000)),
    ...given('startSoc', part(inputs.startSocUncertaintyPercent, 100)),
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

function seriesResistanceOf(inputs: StudyInputs): Partial<ChargeStudyInput['stack']> {
  const { toSenseMilliohm, beyondSenseMilliohm } = inputs;
  if (toSenseMilliohm === null && beyondSenseMilliohm === null) return {};
  return {
    seriesResistance: {
      toSensePointOhm: (toSenseMilliohm ?? 0) / 1000,
      beyondSensePointOhm: (beyondSenseMilliohm ?? 0) / 1000,
    },
  };
}

/**
 * What was entered and would not count, in sentences with what to do; empty where every entry counts. A study is computed
 * only then.
 */
export function inputGaps(inputs: StudyInputs): string[] {
  const { sourceMaxV, sourceMaxA, ratio, regulatorMaxA } = inputs;
  const gaps: string[] = [];
  const needsSource =
    ratio !== 0 ||
    inputs.steppedTaper ||
    [
      inputs.sourceMinV,
      sourceMaxV,
      sourceMaxA,
      inputs.sourceMaxW,
      inputs.sourceStepA,
      inputs.sourceStepV,
      inputs.cableMilliohm,
      inputs.cableMaxA,
      regulatorMaxA,
    ].some((value) => value !== null);
  if (needsSource && sourceMaxV === null) gaps.push('Source: enter its highest voltage.');
  if (needsSource && sourceMaxA === null) gaps.push('Source: enter its highest current.');
  if (inputs.steppedTaper && inputs.sourceStepA === null)
    gaps.push('Stepped taper: enter the current step of the source.');
  if (inputs.bypassCurrentA !== null && inputs.bypassStartV === null)
    gaps.push('Bypass: enter the cell voltage from which it works.');
  if (inputs.bypassCurrentA === null && inputs.bypassStartV !== null)
    gaps.push('Bypass: enter its current, or empty its voltage.');
  const { pathMilliohm, pathFixedLossMilliamp, efficiencyTable } = inputs;
  const resistances = pathMilliohm !== null || pathFixedLossMilliamp !== null;
  if (efficiencyTable.length === 1)
    gaps.push('Efficiency of the fixed ratio: enter a second point, or remove the first.');
  if (ratio === 0 && (resistances || efficiencyTable.length > 0))
    gaps.push('Converter: choose its ratio, or empty its losses.');
  if (resistances && efficiencyTable.length > 0)
    gaps.push(
      'Converter: its losses are given twice; empty the resistance and fixed loss, or the efficiency points.',
    );
  if (
    (inputs.regulatorBelowStackV ?? inputs.regulatorBelowOutputA) !== null &&
    (regulatorMaxA === null || ratio === 0)
  )
    gaps.push(
      'Regulator: it takes over from a fixed ratio; choose a ratio and enter what the regulator gives.',
    );
  return gaps;
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
      ...given('minVoltageV', inputs.sourceMinV),
      ...given('maxPowerW', inputs.sourceMaxW),
      ...given('voltageStepV', inputs.sourceStepV),
      ...given('currentStepA', inputs.sourceStepA),
    },
    ...(inputs.cableMilliohm === null && inputs.cableMaxA === null
      ? {}
      : {
          cable: {
            resistanceOhm: (inputs.cableMilliohm ?? 0) / 1000,
            ...given('maxCurrentA', inputs.cableMaxA),
          },
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
            ...lossesOf(inputs),
            ...given('minStackVoltageV', inputs.regulatorBelowStackV),
            ...given('minOutputCurrentA', inputs.regulatorBelowOutputA),
          },
        }),
    ...(inputs.regulatorMaxA === null
      ? {}
      : {
          regulator: {
            maxOutputCurrentA: inputs.regulatorMaxA,
            kind: inputs.regulatorKind,
            inputVoltageV: inputs.regulatorInputV,
            headroomV: inputs.regulatorHeadroomV,
            efficiency: inputs.regulatorEfficiencyPercent / 100,
          },
        }),
  };
}

type RatioStageInput = NonNullable<NonNullable<ChargeStudyInput['converter']>['ratioStage']>;

function lossesOf(inputs: StudyInputs): Partial<RatioStageInput> {
  const { pathMilliohm, pathFixedLossMilliamp, efficiencyTable, efficiencyPercent } = inputs;
  if (pathMilliohm !== null || pathFixedLossMilliamp !== null)
    return {
      outputResistanceOhm: (pathMilliohm ?? 0) / 1000,
      fixedLossCurrentA: (pathFixedLossMilliamp ?? 0) / 1000,
    };
  if (efficiencyTable.length < 2) return { efficiency: efficiencyPercent / 100 };
  const points = [...efficiencyTable].sort((a, b) => a.outputA - b.outputA);
  return {
    efficiency: {
      outputCurrentA: points.map((p) => p.outputA),
      efficiency: points.map((p) => p.percent / 100),
      ...(inputs.paths > 1 ? { of: inputs.efficiencyTableOf } : {}),
    },
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
