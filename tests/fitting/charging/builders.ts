import { type CellModel, CompiledCell } from '../../../fitting/charging/cellModel.ts';
import {
  type ChargedCell,
  type ChargeSetup,
  DEFAULT_TOLERANCE,
} from '../../../fitting/charging/chargeSetup.ts';

/** A row of numbers as the column type of the models. */
export const row = (...values: number[]): Float64Array => Float64Array.from(values);

/** A cell with straight OCV from 3.40 to 4.20 V and one resistance, as in the exact solutions; override what differs. */
export function linearCell(
  capacityAh: number,
  r0Ohm: number,
  overrides: Partial<CellModel> = {},
): CompiledCell {
  return new CompiledCell({
    capacityAh,
    soc: row(0, 1),
    temperatureC: row(25),
    ocv: { kind: 'table', values: row(3.4, 4.2), interpolation: 'linear' },
    r0Ohm: row(r0Ohm, r0Ohm),
    branches: [],
    arrhenius: null,
    entropicVPerK: null,
    thermal: null,
    ...overrides,
  });
}

/** A branch of the same resistance and time constant everywhere on a grid of `points`. */
export function branch(rOhm: number, tauS: number, points = 2) {
  return { rOhm: new Float64Array(points).fill(rOhm), tauS: new Float64Array(points).fill(tauS) };
}

export function charged(
  cell: CompiledCell,
  startSoc: number,
  overrides: Partial<ChargedCell> = {},
): ChargedCell {
  return {
    cell,
    startSoc,
    startTemperatureC: 25,
    voltageLimitV: 4.2,
    datasheetVoltageV: 4.2,
    ratedCurrentA: 20,
    minTemperatureC: null,
    maxTemperatureC: null,
    datasheetZones: null,
    bypass: null,
    ...overrides,
  };
}

/** 2.5 A, then constant voltage to 0.125 A, at 25 °C; override what differs. */
export function setupOf(cells: ChargedCell[], overrides: Partial<ChargeSetup> = {}): ChargeSetup {
  return {
    cells,
    stackResistance: { toSenseOhm: 0, beyondSenseOhm: 0 },
    ambientTemperatureC: 25,
    watch: 'per-cell',
    stackVoltageLimitV: cells.reduce((sum, cell) => sum + cell.voltageLimitV, 0),
    precharge: null,
    stages: [{ currentA: 2.5, until: null }],
    endCurrentA: 0.125,
    taper: 'continuous',
    restAfterS: 0,
    maxDurationS: 86400,
    zones: null,
    zoneHysteresisK: 1,
    supply: null,
    seriesStepS: null,
    timesAtSoc: [0.5, 0.8, 1],
    tolerance: DEFAULT_TOLERANCE,
    ...overrides,
  };
}
