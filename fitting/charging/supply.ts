import { checkEfficiency, type Efficiency } from './efficiency.ts';
import { checkRatioStage, type RatioStage } from './ratioStage.ts';

/** A supply with its limits; steps as a programmable supply has them (null: continuous). */
export interface Source {
  /** It cannot be set lower. */
  readonly minVoltageV: number;
  readonly maxVoltageV: number;
  readonly maxCurrentA: number;
  readonly maxPowerW: number | null;
  readonly voltageStepV: number | null;
  readonly currentStepA: number | null;
}

export interface Cable {
  /** There and back. */
  readonly resistanceOhm: number;
  readonly maxCurrentA: number | null;
}

/** A switching regulator: output power = efficiency × input power, at a bus voltage of its own. */
export interface Regulator {
  /** Which side of its output its input may lie on. */
  readonly kind: 'step-down' | 'step-up' | 'step-up-down';
  readonly maxOutputCurrentA: number;
  readonly efficiency: Efficiency;
  readonly inputVoltageV: number;
  /** Least distance of input and output voltage. */
  readonly headroomV: number;
}

export interface Supply {
  readonly source: Source;
  readonly cable: Cable;
  readonly ratioStage: RatioStage | null;
  readonly regulator: Regulator | null;
}

export type ConverterMode = 'none' | 'ratio' | 'regulator';

export type SupplyLimitName =
  | 'source-current'
  | 'source-power'
  | 'source-voltage'
  | 'cable-current'
  | 'converter-current'
  | 'regulator-current';

/** @throws RangeError naming the part and value that cannot be. */
export function checkSupply(supply: Supply): void {
  const { source, cable, ratioStage, regulator } = supply;
  if (!(source.maxVoltageV > source.minVoltageV))
    throw new RangeError(
      `source.maxVoltageV is ${source.maxVoltageV}; it must be above source.minVoltageV ${source.minVoltageV}`,
    );
  if (!(source.maxCurrentA > 0))
    throw new RangeError(`source.maxCurrentA is ${source.maxCurrentA}; it must be above 0`);
  if (!(cable.resistanceOhm >= 0))
    throw new RangeError(`cable.resistanceOhm is ${cable.resistanceOhm}; it must be 0 or more`);
  if (ratioStage !== null) checkRatioStage(ratioStage);
  if (regulator !== null) checkRegulator(regulator, source);
}

function checkRegulator(regulator: Regulator, source: Source): void {
  checkEfficiency('converter.regulator.efficiency', regulator.efficiency);
  const { inputVoltageV } = regulator;
  const [lowest, highest] = [lowestVoltage(source), highestVoltage(source)];
  if (inputVoltageV > highest)
    throw new RangeError(
      `converter.regulator.inputVoltageV is ${inputVoltageV}; the source reaches ${highest}`,
    );
  if (inputVoltageV < lowest)
    throw new RangeError(
      `converter.regulator.inputVoltageV is ${inputVoltageV}; the source goes no lower than ${lowest}`,
    );
  if (
    source.voltageStepV !== null &&
    Math.abs(inputVoltageV - toStep(inputVoltageV, source.voltageStepV)) > 1e-9
  )
    throw new RangeError(
      `converter.regulator.inputVoltageV is ${inputVoltageV}; the source is set in steps of ${source.voltageStepV} V, ` +
        `the nearest is ${Number(toStep(inputVoltageV, source.voltageStepV).toPrecision(12))}`,
    );
}

/** Highest voltage the source can be set to, a whole number of its steps. */
export function highestVoltage(source: Source): number {
  return downToStep(source.maxVoltageV, source.voltageStepV);
}

/** Lowest voltage the source can be set to, a whole number of its steps. */
export function lowestVoltage(source: Source): number {
  return upToStep(source.minVoltageV, source.voltageStepV);
}

/** Largest whole multiple of `step` not above `value`; the value itself where there is no step. */
export function downToStep(value: number, step: number | null): number {
  return step === null ? value : Math.floor(value / step + 1e-9) * step;
}

/** Smallest whole multiple of `step` not below `value`; the value itself where there is no step. */
export function upToStep(value: number, step: number | null): number {
  return step === null ? value : Math.ceil(value / step - 1e-9) * step;
}

function toStep(value: number, step: number): number {
  return Math.round(value / step) * step;
}
