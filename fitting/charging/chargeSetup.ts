import { type CompiledCell, R0 } from './cellModel.ts';
import type { StepTolerance } from './localError.ts';
import { checkSupply, type Supply } from './supply.ts';
import type { TemperatureZone } from './temperatureZones.ts';

/** One cell of the stack at the start of a charge, with its limits. */
export interface ChargedCell {
  readonly cell: CompiledCell;
  readonly startSoc: number;
  readonly startTemperatureC: number;
  /** Limit of this cell in the charge, V. */
  readonly voltageLimitV: number;
  /** The maker's limit; what is above it counts as overvoltage. */
  readonly datasheetVoltageV: number;
  /** The maker's highest charge current, A; no current of any phase exceeds it. */
  readonly ratedCurrentA: number;
  readonly minTemperatureC: number | null;
  readonly maxTemperatureC: number | null;
  /** The maker's limits by temperature; they bound the cell beside the setup's own zones. */
  readonly datasheetZones: readonly TemperatureZone[] | null;
  readonly bypass: BypassModel | null;
}

export interface BypassModel {
  /** Ohms for a resistor, amperes for a current. */
  readonly kind: 'resistor' | 'current';
  readonly value: number;
  readonly startVoltageV: number;
  readonly stopVoltageV: number;
  readonly atRest: boolean;
}

/** Conditions that end a stage; null for those that do not count. A cell condition holds when the first cell meets it. */
export interface StageEnd {
  readonly soc: number | null;
  readonly cellVoltageV: number | null;
  readonly temperatureC: number | null;
  readonly durationS: number | null;
}

/**
 * Resistance between the output of the charger and the cells (board, switch, connector), divided by the point at which the
 * charger senses the voltage. What lies beyond that point counts into the sensed voltage, an equal part for each cell.
 */
export interface StackResistance {
  readonly toSenseOhm: number;
  readonly beyondSenseOhm: number;
}

export interface ChargeSetup {
  readonly cells: readonly ChargedCell[];
  readonly stackResistance: StackResistance;
  readonly ambientTemperatureC: number;
  readonly watch: 'per-cell' | 'stack-only';
  /** Limit of the sum where only the stack is watched. */
  readonly stackVoltageLimitV: number;
  readonly precharge: { readonly belowCellVoltageV: number; readonly currentA: number } | null;
  readonly stages: readonly { readonly currentA: number; readonly until: StageEnd | null }[];
  readonly endCurrentA: number;
  readonly taper: 'continuous' | 'stepped';
  readonly restAfterS: number;
  readonly maxDurationS: number;
  readonly zones: readonly TemperatureZone[] | null;
  readonly zoneHysteresisK: number;
  readonly supply: Supply | null;
  readonly seriesStepS: number | null;
  readonly timesAtSoc: readonly number[];
  readonly tolerance: StepTolerance;
}

/** Keeps charge times within about a millisecond and voltages within about a microvolt of the exact solutions. */
export const DEFAULT_TOLERANCE: StepTolerance = { voltageV: 1e-6, temperatureK: 1e-5 };

/** @throws RangeError naming the field, its value and what would be right. */
export function checkChargeSetup(setup: ChargeSetup): void {
  if (setup.cells.length === 0) throw new RangeError('cells is empty; at least one cell is needed');
  setup.cells.forEach((cell, k) => {
    checkCell(cell, k, setup.watch === 'per-cell');
  });
  if (setup.stages.length === 0) throw new RangeError('stages is empty; at least one is needed');
  setup.stages.forEach((stage, s) => {
    if (!(stage.currentA > 0))
      throw new RangeError(`stages[${s}].currentA is ${stage.currentA}; it must be above 0`);
  });
  if (!(setup.endCurrentA > 0))
    throw new RangeError(`endCurrentA is ${setup.endCurrentA}; it must be above 0`);
  if (setup.precharge !== null && !(setup.precharge.currentA > 0))
    throw new RangeError(`precharge.currentA is ${setup.precharge.currentA}; it must be above 0`);
  if (setup.taper === 'stepped' && (setup.supply?.source.currentStepA ?? null) === null)
    throw new RangeError('taper is stepped, which needs source.currentStepA');
  if (setup.seriesStepS !== null && setup.maxDurationS / setup.seriesStepS > 2e6)
    throw new RangeError(
      `seriesStepS is ${setup.seriesStepS}; that is too many rows for ${setup.maxDurationS} s`,
    );
  const { toSenseOhm, beyondSenseOhm } = setup.stackResistance;
  if (!(toSenseOhm >= 0 && beyondSenseOhm >= 0))
    throw new RangeError(`stack resistance is ${toSenseOhm} and ${beyondSenseOhm} Ω; it must be 0 or more`);
  if (setup.supply !== null) checkSupply(setup.supply);
}

function checkCell(cell: ChargedCell, k: number, watched: boolean): void {
  if (!(cell.startSoc >= lowestStartSoc(cell.cell) && cell.startSoc <= 1))
    throw new RangeError(`cells[${k}].startSoc is ${cell.startSoc}; it must lie from 0 to 1`);
  if (!(cell.ratedCurrentA > 0))
    throw new RangeError(
      `cells[${k}].datasheet.maxChargeCurrentA is ${cell.ratedCurrentA}; it must be above 0`,
    );
  if (cell.voltageLimitV > cell.datasheetVoltageV + 1e-9)
    throw new RangeError(
      `the voltage limit of cells[${k}] is ${cell.voltageLimitV} V, above the datasheet's ${cell.datasheetVoltageV} V`,
    );
  const out = new Float64Array(cell.cell.stride);
  const { cell: model, startSoc, startTemperatureC } = cell;
  const stretches = [model.socStretch(startSoc), model.temperatureStretch(startTemperatureC)];
  model.evaluate(startSoc, startTemperatureC, stretches[0], stretches[1], out, 0);
  if (watched && out[0] >= cell.voltageLimitV)
    throw new RangeError(
      `the voltage limit of cells[${k}] is ${cell.voltageLimitV} V, not above its open-circuit voltage ` +
        `${out[0].toFixed(4)} V at the start SOC ${startSoc}`,
    );
  if (cell.bypass !== null) checkBypass(cell.bypass, cell, k);
}

function checkBypass(bypass: BypassModel, { cell, startTemperatureC }: ChargedCell, k: number): void {
  if (!(bypass.value > 0))
    throw new RangeError(`bypass[${k}] has the value ${bypass.value}; it must be above 0`);
  if (!(bypass.stopVoltageV < bypass.startVoltageV))
    throw new RangeError(
      `bypass[${k}].stopVoltageV is ${bypass.stopVoltageV}; it must be below startVoltageV ${bypass.startVoltageV}`,
    );
  const out = new Float64Array(cell.stride);
  cell.evaluate(1, startTemperatureC, cell.socStretch(1), cell.temperatureStretch(startTemperatureC), out, 0);
  const currentA = bypass.kind === 'current' ? bypass.value : bypass.startVoltageV / bypass.value;
  const dropV = currentA * out[R0];
  if (dropV >= bypass.startVoltageV - bypass.stopVoltageV)
    throw new RangeError(
      `bypass[${k}] would switch itself off: its ${currentA.toPrecision(3)} A lower the voltage by ${dropV.toPrecision(3)} V at ` +
        `once, and it stops ${(bypass.startVoltageV - bypass.stopVoltageV).toPrecision(3)} V below its start`,
    );
}

/** How far below its lowest point an OCV goes on with its first slope, in SOC. */
const BELOW_LOWEST_POINT = 0.05;

/** The least SOC at which a charge of a cell can begin: an empty cell, or a little below the lowest point of its OCV where that is lower. */
export function lowestStartSoc({ model }: CompiledCell): number {
  return Math.min(0, model.soc[0] - BELOW_LOWEST_POINT);
}
