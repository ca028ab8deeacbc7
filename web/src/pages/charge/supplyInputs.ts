import type { ChargeStudyDescription } from '../../../../server/contract/chargeStudy.ts';
import { inPercent, milli } from './scaled.ts';
import { type EfficiencyPoint, type StudyInputs, startingInputs } from './studyInputs.ts';

type Converter = NonNullable<ChargeStudyDescription['converter']>;
type RatioStage = NonNullable<Converter['ratioStage']>;
type Table = Extract<NonNullable<RatioStage['efficiency']>, object>;

/**
 * Source, cable and converter of a stored study as inputs of the page. A part that was picked by its name is picked again
 * and fills no field.
 */
export function supplyInputs({ source, cable, converter }: ChargeStudyDescription): Partial<StudyInputs> {
  return {
    ...(source === undefined || source.part !== undefined
      ? {}
      : {
          sourceMinV: source.minVoltageV === 0 ? null : source.minVoltageV,
          sourceMaxV: source.maxVoltageV,
          sourceMaxA: source.maxCurrentA,
          sourceMaxW: source.maxPowerW ?? null,
          sourceStepV: source.voltageStepV ?? null,
          sourceStepA: source.currentStepA ?? null,
        }),
    ...(cable === undefined || cable.part !== undefined
      ? {}
      : { cableMilliohm: milli(cable.resistanceOhm), cableMaxA: cable.maxCurrentA ?? null }),
    ...(converter === undefined || converter.part !== undefined
      ? {}
      : { ...stageInputs(converter.ratioStage), ...regulatorInputs(converter.regulator) }),
  };
}

function stageInputs(stage: Converter['ratioStage']): Partial<StudyInputs> {
  if (stage === undefined) return {};
  return {
    ratio: stage.ratio,
    ...(typeof stage.paths === 'number'
      ? { paths: stage.paths, pathMaxA: stage.maxPathCurrentA ?? startingInputs.pathMaxA }
      : {
          unlikePaths: stage.paths.map((path) => ({
            maxA: path.maxCurrentA,
            milliohm: milli(path.outputResistanceOhm) ?? 0,
            fixedLossMilliamp: milli(path.fixedLossCurrentA) ?? 0,
          })),
        }),
    pathMilliohm: milli(stage.outputResistanceOhm),
    pathFixedLossMilliamp: milli(stage.fixedLossCurrentA),
    ...efficiencyInputs(stage.efficiency),
    operatingPoints: (stage.operatingPoints?.points ?? []).map((point) => ({
      outputV: point.outputVoltageV,
      outputA: point.outputCurrentA,
      inputV: 'inputVoltageV' in point ? point.inputVoltageV : null,
      inputA: 'inputCurrentA' in point ? point.inputCurrentA : null,
      efficiencyPercent: 'efficiency' in point ? inPercent(point.efficiency) : null,
    })),
    operatingPointsOf: stage.operatingPoints?.of ?? startingInputs.operatingPointsOf,
    regulatorBelowStackV: stage.minStackVoltageV ?? null,
    regulatorBelowOutputA: stage.minOutputCurrentA ?? null,
  };
}

function efficiencyInputs(efficiency: RatioStage['efficiency']): Partial<StudyInputs> {
  if (efficiency === undefined) return {};
  return typeof efficiency === 'number'
    ? { efficiencyPercent: inPercent(efficiency) ?? startingInputs.efficiencyPercent }
    : {
        efficiencyTable: pointsOf(efficiency),
        efficiencyTableOf: efficiency.of ?? startingInputs.efficiencyTableOf,
      };
}

function regulatorInputs(regulator: Converter['regulator']): Partial<StudyInputs> {
  if (regulator === undefined) return {};
  const { efficiency } = regulator;
  return {
    regulatorMaxA: regulator.maxOutputCurrentA,
    regulatorKind: regulator.kind,
    regulatorInputV: regulator.inputVoltageV,
    regulatorHeadroomV: regulator.headroomV,
    ...(typeof efficiency === 'number'
      ? {
          regulatorEfficiencyPercent: inPercent(efficiency) ?? startingInputs.regulatorEfficiencyPercent,
        }
      : { regulatorEfficiencyTable: pointsOf(efficiency) }),
  };
}

function pointsOf({
  outputCurrentA,
  efficiency,
}: Pick<Table, 'outputCurrentA' | 'efficiency'>): EfficiencyPoint[] {
  return outputCurrentA.map((outputA, i) => ({ outputA, percent: inPercent(efficiency[i]) ?? 0 }));
}
