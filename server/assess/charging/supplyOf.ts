import type { Efficiency, Supply } from '../../../fitting/charging/index.ts';
import { equalPaths, fitRatioStage, type RatioStage } from '../../../fitting/charging/index.ts';
import type { ChargeStudyDescription } from '../../contract/chargeStudy.ts';
import type { ConverterDescription, RatioStageDescription } from '../../contract/chargeSupply.ts';
import { type ErrorPlace, fieldError, Refusal } from '../../errors.ts';

type Described = Pick<ChargeStudyDescription, 'source' | 'cable' | 'converter'>;

/**
 * Source, cable and converter of a description as the simulation takes them; null without a source. Call after
 * {@link supplyErrors} has found nothing.
 *
 * @throws Refusal `cannot-study` for operating points that no converter can have.
 */
export function supplyOf({ source, cable, converter }: Described): Supply | null {
  if (source === undefined) return null;
  return {
    source: {
      minVoltageV: source.minVoltageV,
      maxVoltageV: source.maxVoltageV,
      maxCurrentA: source.maxCurrentA,
      maxPowerW: source.maxPowerW ?? null,
      voltageStepV: source.voltageStepV ?? null,
      currentStepA: source.currentStepA ?? null,
    },
    cable: { resistanceOhm: cable?.resistanceOhm ?? 0, maxCurrentA: cable?.maxCurrentA ?? null },
    ...converterOf(converter),
  };
}

/** The two parts of a converter as the simulation takes them. */
export function converterOf(
  converter: ConverterDescription | undefined,
): Pick<Supply, 'ratioStage' | 'regulator'> {
  const { ratioStage, regulator } = converter ?? {};
  return {
    ratioStage: ratioStage === undefined ? null : ratioStageOf(ratioStage),
    regulator:
      regulator === undefined ? null : { ...regulator, efficiency: efficiencyOf(regulator.efficiency) },
  };
}

function ratioStageOf(stage: RatioStageDescription): RatioStage {
  const { ratio, paths, efficiency } = stage;
  return {
    ratio,
    paths: typeof paths === 'number' ? equalPathsOf(stage, paths) : paths,
    efficiency:
      efficiency === undefined
        ? null
        : {
            efficiency: efficiencyOf(efficiency),
            of: (typeof efficiency === 'number' ? undefined : efficiency.of) ?? 'all-paths',
          },
    minStackVoltageV: stage.minStackVoltageV ?? 0,
    minOutputCurrentA: stage.minOutputCurrentA ?? 0,
  };
}

function equalPathsOf(stage: RatioStageDescription, count: number): RatioStage['paths'] {
  const { ratio, operatingPoints } = stage;
  const maxCurrentA = stage.maxPathCurrentA ?? 0;
  if (operatingPoints === undefined)
    return equalPaths(count, maxCurrentA, stage.outputResistanceOhm, stage.fixedLossCurrentA);
  try {
    const fitted = fitRatioStage(ratio, operatingPoints.points);
    // Measured at all paths together each has so many times the resistance and its part of the fixed loss.
    const times = operatingPoints.of === 'all-paths' ? count : 1;
    return equalPaths(
      count,
      maxCurrentA,
      fitted.outputResistanceOhm * times,
      fitted.fixedLossCurrentA / times,
    );
  } catch (error) {
    if (error instanceof RangeError)
      throw new Refusal('cannot-study', `converter.ratioStage.operatingPoints: ${error.message}.`);
    throw error;
  }
}

function efficiencyOf(value: number | { outputCurrentA: number[]; efficiency: number[] }): Efficiency {
  if (typeof value === 'number') return value;
  return {
    outputCurrentA: Float64Array.from(value.outputCurrentA),
    efficiency: Float64Array.from(value.efficiency),
  };
}

/** What no single field's schema can see in the supply: parts without a source, losses said twice, inputs that would not count. */
export function supplyErrors(described: Described & Pick<ChargeStudyDescription, 'phases'>): ErrorPlace[] {
  const { source, cable, converter, phases } = described;
  const places: ErrorPlace[] = [];
  if (source === undefined && (converter !== undefined || cable !== undefined))
    places.push(
      fieldError(
        'source',
        undefined,
        'a cable or converter is described without a source',
        'describe the source too',
      ),
    );
  if (converter?.ratioStage !== undefined)
    places.push(...ratioStageErrors(converter.ratioStage, converter.regulator !== undefined));
  if (phases.taper === 'stepped' && source?.currentStepA === undefined)
    places.push(
      fieldError(
        'phases.taper',
        'stepped',
        'needs the current step of the source',
        'give source.currentStepA',
      ),
    );
  return places;
}

const losses = ['outputResistanceOhm', 'fixedLossCurrentA', 'operatingPoints', 'efficiency'] as const;

/** What cannot be in the description of a ratio stage, each place with what would be right. */
export function ratioStageErrors(stage: RatioStageDescription, withRegulator: boolean): ErrorPlace[] {
  const at = 'converter.ratioStage';
  const places: ErrorPlace[] = [];
  const refuse = (field: string, value: unknown, why: string, expected: string) =>
    places.push(fieldError(`${at}.${field}`, value, why, expected));
  const given = losses.filter((name) => stage[name] !== undefined);
  if (typeof stage.paths !== 'number') {
    for (const name of [
      ...given,
      ...(stage.maxPathCurrentA === undefined ? [] : (['maxPathCurrentA'] as const)),
    ])
      refuse(
        name,
        JSON.stringify(stage[name]),
        'stands beside a list of paths, which hold it',
        'leave it out',
      );
  } else {
    if (stage.maxPathCurrentA === undefined)
      refuse('maxPathCurrentA', undefined, 'is needed', 'the output current of one path in A');
    const ways = new Set(given.map((name) => (name === 'fixedLossCurrentA' ? 'outputResistanceOhm' : name)));
    if (ways.size > 1)
      refuse(
        given[1],
        JSON.stringify(stage[given[1]]),
        `the losses are given by ${given[0]} too`,
        'one of the two',
      );
    for (const name of ['operatingPoints', 'efficiency'] as const) {
      const value = stage[name];
      if (stage.paths > 1 && typeof value === 'object' && value.of === undefined)
        refuse(
          `${name}.of`,
          undefined,
          `the converter has ${stage.paths} paths`,
          '"one-path" or "all-paths"',
        );
    }
  }
  if (!withRegulator)
    for (const name of ['minStackVoltageV', 'minOutputCurrentA'] as const)
      if ((stage[name] ?? 0) > 0)
        refuse(name, stage[name], 'below it the regulator takes over, and there is none', 'leave it out');
  return places;
}
