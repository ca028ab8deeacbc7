import type { ChargeStudyInput } from '../../../../server/contract/chargeStudy.ts';
import { supplyOf } from './describeSupply.ts';
import { given } from './given.ts';
import type { StageInput, StudyInputs } from './studyInputs.ts';

type CellInput = ChargeStudyInput['cells'][number];
type Questions = NonNullable<ChargeStudyInput['questions']>;

/** The draft of the cells with the inputs laid over it: the document that is computed and stored. */
export function describeStudy(draft: ChargeStudyInput, inputs: StudyInputs, live: boolean): ChargeStudyInput {
  // A kept part that was picked takes the place of the fields about it.
  const { source, cable, converter, ...rest } = draft;
  const { watch } = inputs;
  return {
    ...rest,
    cells: draft.cells.map((cell, k) => cellOf(cell, k, inputs)),
    stack: {
      ...draft.stack,
      ambientTemperatureC: inputs.ambientTemperatureC,
      ...(watch === 'stack-only' ? { watch, ...given('stackVoltageLimitV', inputs.stackVoltageLimitV) } : {}),
      ...given('cellVoltageLimitV', inputs.cellVoltageLimitV),
      ...given('maxTemperatureC', inputs.maxTemperatureC),
      ...bypassOf(draft, inputs),
      ...seriesResistanceOf(inputs),
    },
    phases: phasesOf(draft, inputs),
    ...zonesOf(inputs),
    ...supplyOf(inputs),
    ...given('source', source ?? null),
    ...given('cable', cable ?? null),
    ...given('converter', converter ?? null),
    questions: questionsOf(draft, inputs, live),
  };
}

function cellOf(cell: CellInput, k: number, inputs: StudyInputs): CellInput {
  const { heatCapacityJPerK, heatTransferWPerK } = inputs;
  const thermal =
    heatCapacityJPerK !== null && heatTransferWPerK !== null
      ? { thermal: { heatCapacityJPerK, heatTransferWPerK, basis: 'entered' as const } }
      : {};
  return {
    ...cell,
    ...thermal,
    startSoc: (inputs.startSocOfCells[k] ?? inputs.startSocPercent) / 100,
    ...given('startTemperatureC', inputs.startTemperatureC),
    uncertainty: { ...cell.uncertainty, ...uncertaintyOf(inputs) },
  };
}

function uncertaintyOf(inputs: StudyInputs): CellInput['uncertainty'] {
  const part = (value: number | null, of: number) => (value === null ? null : value / of);
  return {
    ...given('capacityRelative', part(inputs.capacityUncertaintyPercent, 100)),
    ...given('r0Relative', part(inputs.r0UncertaintyPercent, 100)),
    ...given('branchRelative', part(inputs.branchUncertaintyPercent, 100)),
    ...given('r0BranchCorrelation', inputs.resistanceCorrelation),
    ...given('ocvV', part(inputs.ocvUncertaintyMillivolt, 1000)),
    ...given('startSoc', part(inputs.startSocUncertaintyPercent, 100)),
    ...given('startTemperatureK', inputs.startTemperatureUncertaintyK),
    ...given('heatCapacityRelative', part(inputs.heatCapacityUncertaintyPercent, 100)),
    ...given('heatTransferRelative', part(inputs.heatTransferUncertaintyPercent, 100)),
  };
}

/** How far below its start a bypass stops where nothing else is entered. */
const BYPASS_HYSTERESIS_V = 0.02;

function bypassOf(draft: ChargeStudyInput, inputs: StudyInputs): Partial<ChargeStudyInput['stack']> {
  const { bypassCurrentA, bypassOhm, bypassStartV: startVoltageV, bypassStopV, bypassAtRest } = inputs;
  if (startVoltageV === null) return {};
  const rest = {
    startVoltageV,
    stopVoltageV: bypassStopV ?? startVoltageV - BYPASS_HYSTERESIS_V,
    ...(bypassAtRest ? { atRest: true } : {}),
  };
  if (bypassCurrentA !== null)
    return {
      bypass: draft.cells.map(() => ({ kind: 'current' as const, currentA: bypassCurrentA, ...rest })),
    };
  if (bypassOhm === null) return {};
  return {
    bypass: draft.cells.map(() => ({ kind: 'resistor' as const, resistanceOhm: bypassOhm, ...rest })),
  };
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

function phasesOf(draft: ChargeStudyInput, inputs: StudyInputs): ChargeStudyInput['phases'] {
  return {
    ...draft.phases,
    stages: inputs.stages.map((stage) => ({ rateC: stage.rateC, ...untilOf(stage) })),
    end: { rateC: inputs.endRateC },
    ...(inputs.prechargeBelowV === null
      ? {}
      : { precharge: { belowCellVoltageV: inputs.prechargeBelowV, rateC: inputs.prechargeRateC } }),
    ...(inputs.steppedTaper ? { taper: 'stepped' as const } : {}),
    ...(inputs.restAfterMinutes > 0 ? { restAfterS: 60 * inputs.restAfterMinutes } : {}),
    ...(inputs.longestHours === 24 ? {} : { maxDurationS: 3600 * inputs.longestHours }),
  };
}

function untilOf(stage: StageInput): {
  until?: NonNullable<ChargeStudyInput['phases']['stages'][0]['until']>;
} {
  const { untilSocPercent, untilCellV = null, untilC = null, untilMinutes = null } = stage;
  const until = {
    ...given('socAtLeast', untilSocPercent === null ? null : untilSocPercent / 100),
    ...given('cellVoltageAtLeastV', untilCellV),
    ...given('temperatureAtLeastC', untilC),
    ...given('durationS', untilMinutes === null ? null : 60 * untilMinutes),
  };
  return Object.keys(until).length === 0 ? {} : { until };
}

function zonesOf({
  zones,
  zoneHysteresisK,
}: StudyInputs): Pick<ChargeStudyInput, 'temperatureZones' | 'zoneHysteresisK'> {
  if (zones.length === 0) return { zoneHysteresisK };
  const temperatureZones = zones.map(({ fromC, toC, maxRateC, maxCellVoltageV }) => ({
    fromC,
    toC,
    ...given('maxRateC', maxRateC),
    ...given('maxCellVoltageV', maxCellVoltageV),
  }));
  return { temperatureZones, zoneHysteresisK };
}

/** While somebody types only the charge itself is asked for; the long questions wait until the study is kept. */
function questionsOf(draft: ChargeStudyInput, inputs: StudyInputs, live: boolean): Questions {
  const targetSoc = inputs.targetSocPercent / 100;
  const hot = given('maxTemperatureC', inputs.maxTemperatureC);
  const short = { stackOnly: inputs.stackOnly, seriesStepS: 10, timesAtSoc: [targetSoc] };
  if (live) return short;
  const { rateSearch, stagedProfile, draws, rateTable } = inputs;
  return {
    ...short,
    ...(rateSearch ? { rateSearch: { targetSoc, ...hot, ...searchOf(draft, inputs) } } : {}),
    ...(stagedProfile
      ? {
          stagedProfile: {
            targetSoc,
            ...hot,
            ...(inputs.profileStages === 4 ? {} : { stages: inputs.profileStages }),
          },
        }
      : {}),
    ...(draws > 0 ? { monteCarlo: { draws, ...drawsOf(inputs) } } : {}),
    ...(rateTable
      ? {
          rateTable: {
            temperatureC: [...inputs.rateTableC],
            resistanceGrowth: inputs.rateTableGrowthPercent.map((percent) => percent / 100),
            ...hot,
          },
        }
      : {}),
  };
}

function searchOf(
  draft: ChargeStudyInput,
  inputs: StudyInputs,
): Partial<NonNullable<Questions['rateSearch']>> {
  const { leastRateC, mostRateC, leastSocAtLimitPercent, tradeOffPoints, withLife } = inputs;
  const life = withLife ? draft.questions?.rateSearch?.life : undefined;
  return {
    ...(leastRateC === 0.05 ? {} : { minRateC: leastRateC }),
    ...given('maxRateC', mostRateC),
    ...given('minSocAtVoltageLimit', leastSocAtLimitPercent === null ? null : leastSocAtLimitPercent / 100),
    ...(tradeOffPoints === 8 ? {} : { tradeOffPoints }),
    ...(life === undefined ? {} : { life }),
  };
}

function drawsOf({ drawSeed, drawLevelPercent }: StudyInputs): Partial<NonNullable<Questions['monteCarlo']>> {
  return {
    ...(drawSeed === 1 ? {} : { seed: drawSeed }),
    ...(drawLevelPercent === 95 ? {} : { level: drawLevelPercent / 100 }),
  };
}
