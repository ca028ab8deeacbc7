import type { ChargeStudyInput } from '../../../../server/contract/chargeStudy.ts';
import { given } from './given.ts';
import type { EfficiencyPoint, OperatingPointInput, StudyInputs } from './studyInputs.ts';

type Converter = NonNullable<ChargeStudyInput['converter']>;
type RatioStage = NonNullable<Converter['ratioStage']>;
type OperatingPoint = NonNullable<RatioStage['operatingPoints']>['points'][number];

/** Source, cable and converter of the inputs in the contract's units; nothing where no source is described. */
export function supplyOf(inputs: StudyInputs): Pick<ChargeStudyInput, 'source' | 'cable' | 'converter'> {
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

function converterOf(inputs: StudyInputs): Converter {
  return {
    ...(inputs.ratio === 0
      ? {}
      : {
          ratioStage: {
            ratio: inputs.ratio,
            ...pathsOf(inputs),
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
            efficiency:
              inputs.regulatorEfficiencyTable.length < 2
                ? inputs.regulatorEfficiencyPercent / 100
                : tableOf(inputs.regulatorEfficiencyTable),
          },
        }),
  };
}

function pathsOf(inputs: StudyInputs): Pick<RatioStage, 'paths'> & Partial<RatioStage> {
  const { unlikePaths, paths, pathMaxA } = inputs;
  if (unlikePaths.length > 0)
    return {
      paths: unlikePaths.map(({ maxA, milliohm, fixedLossMilliamp }) => ({
        maxCurrentA: maxA,
        outputResistanceOhm: milliohm / 1000,
        fixedLossCurrentA: fixedLossMilliamp / 1000,
      })),
    };
  return { paths, maxPathCurrentA: pathMaxA, ...lossesOf(inputs) };
}

function lossesOf(inputs: StudyInputs): Partial<RatioStage> {
  const { pathMilliohm, pathFixedLossMilliamp, efficiencyTable, operatingPoints, paths } = inputs;
  if (pathMilliohm !== null || pathFixedLossMilliamp !== null)
    return {
      outputResistanceOhm: (pathMilliohm ?? 0) / 1000,
      fixedLossCurrentA: (pathFixedLossMilliamp ?? 0) / 1000,
    };
  if (operatingPoints.length > 0)
    return {
      operatingPoints: {
        points: operatingPoints.map(pointOf),
        ...(paths > 1 ? { of: inputs.operatingPointsOf } : {}),
      },
    };
  if (efficiencyTable.length < 2) return { efficiency: inputs.efficiencyPercent / 100 };
  return {
    efficiency: {
      ...tableOf(efficiencyTable),
      ...(paths > 1 ? { of: inputs.efficiencyTableOf } : {}),
    },
  };
}

function pointOf(point: OperatingPointInput): OperatingPoint {
  const output = { outputVoltageV: point.outputV ?? 0, outputCurrentA: point.outputA ?? 0 };
  return point.efficiencyPercent === null
    ? { ...output, inputVoltageV: point.inputV ?? 0, inputCurrentA: point.inputA ?? 0 }
    : { ...output, efficiency: point.efficiencyPercent / 100 };
}

function tableOf(table: readonly EfficiencyPoint[]): { outputCurrentA: number[]; efficiency: number[] } {
  const points = [...table].sort((a, b) => a.outputA - b.outputA);
  return {
    outputCurrentA: points.map((p) => p.outputA),
    efficiency: points.map((p) => p.percent / 100),
  };
}
