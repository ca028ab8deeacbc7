import type { ControlLaw } from './controlLaw.ts';
import { checkEfficiency, type Efficiency, efficiencyAt } from './efficiency.ts';

/** A supply with its limits; steps as a programmable supply has them (null: continuous). */
export interface Source {
  readonly minVoltageV: number;
  readonly maxVoltageV: number;
  readonly maxCurrentA: number;
  readonly maxPowerW: number | null;
  readonly voltageStepV: number | null;
  readonly currentStepA: number | null;
}

export interface Cable {
  readonly resistanceOhm: number;
  readonly maxCurrentA: number | null;
}

/**
 * A converter of fixed ratio N with equal parallel paths: stack current = N × bus current (charge is conserved), input
 * voltage = N × stack voltage / efficiency, so that the loss shows as voltage.
 */
export interface RatioStage {
  readonly ratio: 1 | 2 | 4;
  readonly paths: number;
  /** Output current of one path, A. */
  readonly maxPathCurrentA: number;
  readonly efficiency: Efficiency;
  readonly minStackVoltageV: number;
  readonly minOutputCurrentA: number;
}

/** A switching regulator: stack power = efficiency × input power, at a bus voltage of its own. */
export interface Regulator {
  readonly maxOutputCurrentA: number;
  readonly efficiency: Efficiency;
  readonly inputVoltageV: number;
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

/** A limit as a constant stack current. */
export interface CurrentCap {
  readonly limit: SupplyLimitName;
  readonly currentA: number;
}

/** A limit that depends on the stack voltage, as a law that holds while it binds. */
export interface SupplyLaw {
  readonly limit: 'source-voltage' | 'source-power';
  readonly law: Exclude<ControlLaw, { kind: 'current' }>;
}

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
  if (ratioStage !== null) checkEfficiency('converter.ratioStage.efficiency', ratioStage.efficiency);
  if (regulator === null) return;
  checkEfficiency('converter.regulator.efficiency', regulator.efficiency);
  if (regulator.inputVoltageV > highestVoltage(source))
    throw new RangeError(
      `converter.regulator.inputVoltageV is ${regulator.inputVoltageV}; the source reaches ${highestVoltage(source)}`,
    );
}

/** Highest voltage the source can be set to, a whole number of its steps. */
export function highestVoltage(source: Source): number {
  return downToStep(source.maxVoltageV, source.voltageStepV);
}

/** Highest bus current of source and cable, a whole number of the source's steps. */
export function highestBusCurrent(supply: Supply): number {
  const { source, cable } = supply;
  const least = Math.min(source.maxCurrentA, cable.maxCurrentA ?? Number.POSITIVE_INFINITY);
  return downToStep(least, source.currentStepA);
}

/** Largest whole multiple of `step` not above `value`; the value itself where there is no step. */
export function downToStep(value: number, step: number | null): number {
  return step === null ? value : Math.floor(value / step + 1e-9) * step;
}

/** Stack current limits that do not depend on the stack's voltage, in a mode. */
export function currentCaps(supply: Supply, mode: ConverterMode): CurrentCap[] {
  const { source, cable, ratioStage, regulator } = supply;
  if (mode === 'regulator' && regulator !== null)
    return [{ limit: 'regulator-current', currentA: regulator.maxOutputCurrentA }];
  const ratio = ratioStage?.ratio ?? 1;
  const caps: CurrentCap[] = [
    { limit: 'source-current', currentA: ratio * downToStep(source.maxCurrentA, source.currentStepA) },
  ];
  if (cable.maxCurrentA !== null)
    caps.push({
      limit: 'cable-current',
      currentA: ratio * downToStep(cable.maxCurrentA, source.currentStepA),
    });
  if (ratioStage !== null)
    caps.push({ limit: 'converter-current', currentA: ratioStage.paths * ratioStage.maxPathCurrentA });
  return caps;
}

/** Limits that depend on the stack's voltage, in a mode, for a stack of `cells` cells. */
export function supplyLaws(supply: Supply, mode: ConverterMode, cells: number): SupplyLaw[] {
  const { source, cable, ratioStage, regulator } = supply;
  const laws: SupplyLaw[] = [];
  const ones = new Float64Array(cells).fill(1);
  if (mode === 'regulator' && regulator !== null) {
    const busA = Math.min(
      highestBusCurrent(supply),
      (source.maxPowerW ?? Number.POSITIVE_INFINITY) / regulator.inputVoltageV,
    );
    const powerW = (regulator.inputVoltageV - busA * cable.resistanceOhm) * busA;
    const { efficiency } = regulator;
    laws.push({
      limit: 'source-power',
      law: { kind: 'power', weights: ones, squareOhm: 0, powerW, efficiency },
    });
    return laws;
  }
  const ratio = ratioStage?.ratio ?? 1;
  const efficiency = ratioStage?.efficiency ?? null;
  laws.push({
    limit: 'source-voltage',
    law: {
      kind: 'voltage',
      weights: new Float64Array(cells).fill(ratio),
      seriesOhm: cable.resistanceOhm / ratio,
      targetV: highestVoltage(source),
      efficiency,
    },
  });
  if (source.maxPowerW !== null) {
    const squareOhm = cable.resistanceOhm / (ratio * ratio);
    laws.push({
      limit: 'source-power',
      law: { kind: 'power', weights: ones, squareOhm, powerW: source.maxPowerW, efficiency },
    });
  }
  return laws;
}

/** Bus values for a stack current and voltage: voltage at the source, at the converter's input, and bus current. */
export interface BusValues {
  sourceV: number;
  converterV: number;
  currentA: number;
}

/** Writes the bus values of a mode into `out`. */
export function busValues(
  supply: Supply,
  mode: ConverterMode,
  stackA: number,
  stackV: number,
  out: BusValues,
): void {
  const { cable, ratioStage, regulator } = supply;
  const current = Math.max(stackA, 0);
  if (mode === 'regulator' && regulator !== null) {
    const inputW = (current * stackV) / efficiencyAt(regulator.efficiency, current);
    const source = regulator.inputVoltageV;
    // V_s I_b − R I_b² = inputW, the smaller root, written so that it does not cancel.
    const root = Math.sqrt(Math.max(source * source - 4 * cable.resistanceOhm * inputW, 0));
    out.currentA = (2 * inputW) / (source + root);
    out.sourceV = source;
    out.converterV = source - out.currentA * cable.resistanceOhm;
    return;
  }
  const ratio = ratioStage?.ratio ?? 1;
  out.currentA = current / ratio;
  out.converterV =
    (ratio * stackV) / (ratioStage === null ? 1 : efficiencyAt(ratioStage.efficiency, current));
  out.sourceV = out.converterV + out.currentA * cable.resistanceOhm;
}
