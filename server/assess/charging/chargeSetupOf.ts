import type { CellUncertainty } from '../../../fitting/charging/index.ts';
import {
  type CellModel,
  type ChargedCell,
  type ChargeSetup,
  CompiledCell,
  DEFAULT_TOLERANCE,
} from '../../../fitting/charging/index.ts';
import type { ChargeCellDescription, ChargeStudyDescription, GridValue } from '../../contract/chargeStudy.ts';
import { type ErrorPlace, fieldError, Refusal } from '../../errors.ts';
import { supplyErrors, supplyOf } from './supplyOf.ts';

/** The current at which a charge ends where the description does not say, in C. Common practice, no source. */
const USUAL_END_RATE_C = 0.05;

/** A study description as the simulation takes it. */
export interface PreparedStudy {
  readonly setup: ChargeSetup;
  /** The current of one C: the smallest rated capacity in the stack over one hour. */
  readonly oneC: number;
  readonly uncertainties: readonly CellUncertainty[];
}

/**
 * Turns a description into a setup of the simulation.
 * @throws Refusal `cannot-study` that names every field that cannot be, with its value and what would be right.
 */
export function chargeSetupOf(description: ChargeStudyDescription): PreparedStudy {
  const places = crossFieldErrors(description);
  if (places.length > 0)
    throw new Refusal('cannot-study', 'The charge study cannot be computed as it is described.', places);
  const oneC = Math.min(...description.cells.map((cell) => cell.ratedCapacityAh ?? cell.capacityAh));
  const { stack, phases } = description;
  const cells = description.cells.map((cell, k) => chargedCell(description, cell, k));
  const amperes = (value: { currentA?: number; rateC?: number }) =>
    value.currentA ?? (value.rateC ?? 0) * oneC;
  const setup: ChargeSetup = {
    cells,
    stackResistance: {
      toSenseOhm: stack.seriesResistance?.toSensePointOhm ?? 0,
      beyondSenseOhm: stack.seriesResistance?.beyondSensePointOhm ?? 0,
    },
    ambientTemperatureC: stack.ambientTemperatureC,
    watch: stack.watch,
    stackVoltageLimitV: stack.stackVoltageLimitV ?? cells.reduce((sum, cell) => sum + cell.voltageLimitV, 0),
    precharge: phases.precharge
      ? { belowCellVoltageV: phases.precharge.belowCellVoltageV, currentA: amperes(phases.precharge) }
      : null,
    stages: phases.stages.map((stage) => ({
      currentA: amperes(stage),
      until: stage.until
        ? {
            soc: stage.until.socAtLeast ?? null,
            cellVoltageV: stage.until.cellVoltageAtLeastV ?? null,
            temperatureC: stage.until.temperatureAtLeastC ?? null,
            durationS: stage.until.durationS ?? null,
          }
        : null,
    })),
    endCurrentA: phases.end ? amperes(phases.end) : USUAL_END_RATE_C * oneC,
    taper: phases.taper,
    restAfterS: phases.restAfterS,
    maxDurationS: phases.maxDurationS,
    zones: description.temperatureZones?.map((zone) => zoneOf(zone, oneC)) ?? null,
    zoneHysteresisK: description.zoneHysteresisK,
    supply: supplyOf(description),
    seriesStepS: description.questions.seriesStepS ?? null,
    timesAtSoc: [...new Set([0.5, 0.8, 1, ...(description.questions.timesAtSoc ?? [])])].sort(
      (a, b) => a - b,
    ),
    tolerance: DEFAULT_TOLERANCE,
  };
  return { setup, oneC, uncertainties: description.cells.map(uncertaintyOf) };
}

function chargedCell(
  description: ChargeStudyDescription,
  cell: ChargeCellDescription,
  k: number,
): ChargedCell {
  const { stack } = description;
  const { datasheet } = cell;
  const bypass = stack.bypass?.[k] ?? null;
  const hottest = [stack.maxTemperatureC, datasheet.maxChargeTemperatureC].filter((t) => t !== undefined);
  return {
    cell: compile(cell, k),
    startSoc: cell.startSoc,
    startTemperatureC: cell.startTemperatureC ?? stack.ambientTemperatureC,
    voltageLimitV: stack.cellVoltageLimitV ?? datasheet.maxVoltageV,
    datasheetVoltageV: datasheet.maxVoltageV,
    ratedCurrentA: datasheet.maxChargeCurrentA,
    minTemperatureC: datasheet.minChargeTemperatureC ?? null,
    maxTemperatureC: hottest.length === 0 ? null : Math.min(...hottest),
    datasheetZones:
      datasheet.zones?.map(({ fromC, toC, maxCurrentA, maxVoltageV }) => ({
        fromC,
        toC,
        maxCurrentA: maxCurrentA ?? null,
        maxVoltageV: maxVoltageV ?? null,
      })) ?? null,
    bypass:
      bypass === null
        ? null
        : {
            kind: bypass.kind,
            value: bypass.kind === 'resistor' ? bypass.resistanceOhm : bypass.currentA,
            startVoltageV: bypass.startVoltageV,
            stopVoltageV: bypass.stopVoltageV,
            atRest: bypass.atRest,
          },
  };
}

function compile(cell: ChargeCellDescription, k: number): CompiledCell {
  const temperatures = cell.temperatureC ?? [25];
  const table = (value: GridValue) => flatten(value, cell.soc.length, temperatures.length);
  const model: CellModel = {
    capacityAh: cell.capacityAh,
    soc: Float64Array.from(cell.soc),
    temperatureC: Float64Array.from(temperatures),
    ocv: { kind: 'table', values: table(cell.ocvV), interpolation: cell.ocvInterpolation },
    r0Ohm: table(cell.r0Ohm),
    branches: cell.branches.map(({ rOhm, tauS }) => ({ rOhm: table(rOhm), tauS: table(tauS) })),
    arrhenius: arrheniusOf(cell),
    entropicVPerK: cell.entropicVPerK === undefined ? null : table(cell.entropicVPerK),
    thermal: cell.thermal ?? null,
  };
  try {
    return new CompiledCell(model);
  } catch (error) {
    if (error instanceof RangeError) throw new Refusal('cannot-study', `cells.${k}: ${error.message}`);
    throw error;
  }
}

function arrheniusOf({ arrhenius }: ChargeCellDescription): CellModel['arrhenius'] {
  if (arrhenius === undefined) return null;
  const { activationEnergyJPerMol, referenceTemperatureC, branchesToo } = arrhenius;
  return { activationEnergyJPerMol, referenceTemperatureC, branchesToo };
}

/** A table over all grid points; the shapes have been checked. */
function flatten(value: GridValue, points: number, temperatures: number): Float64Array {
  const out = new Float64Array(points * temperatures);
  for (let s = 0; s < points; s++)
    for (let t = 0; t < temperatures; t++) {
      const row = Array.isArray(value) ? value[s] : value;
      out[s * temperatures + t] = Array.isArray(row) ? row[t] : row;
    }
  return out;
}

function zoneOf(zone: NonNullable<ChargeStudyDescription['temperatureZones']>[number], oneC: number) {
  const currents = [zone.maxCurrentA, zone.maxRateC === undefined ? undefined : zone.maxRateC * oneC];
  const given = currents.filter((value) => value !== undefined);
  return {
    fromC: zone.fromC,
    toC: zone.toC,
    maxCurrentA: given.length === 0 ? null : Math.min(...given),
    maxVoltageV: zone.maxCellVoltageV ?? null,
  };
}

function uncertaintyOf(cell: ChargeCellDescription): CellUncertainty {
  const given = cell.uncertainty ?? {};
  return {
    capacityRelative: given.capacityRelative ?? 0,
    r0Relative: given.r0Relative ?? 0,
    branchRelative: given.branchRelative ?? 0,
    r0BranchCorrelation: given.r0BranchCorrelation ?? 0,
    ocvV: given.ocvV ?? 0,
    startSoc: given.startSoc ?? 0,
    startTemperatureK: given.startTemperatureK ?? 0,
    heatCapacityRelative: given.heatCapacityRelative ?? 0,
    heatTransferRelative: given.heatTransferRelative ?? 0,
  };
}

/** What no single field's schema can see. */
function crossFieldErrors(description: ChargeStudyDescription): ErrorPlace[] {
  const places: ErrorPlace[] = [];
  description.cells.forEach((cell, k) => {
    places.push(...tableErrors(cell, `cells.${k}`));
    const limit = description.stack.cellVoltageLimitV;
    if (limit !== undefined && limit > cell.datasheet.maxVoltageV)
      places.push(
        fieldError(
          'stack.cellVoltageLimitV',
          limit,
          `above the datasheet of cell ${cell.name}`,
          `at most ${cell.datasheet.maxVoltageV} V`,
        ),
      );
  });
  const { phases, stack } = description;
  const rated: [string, { currentA?: number; rateC?: number } | undefined][] = [
    ['phases.precharge', phases.precharge],
    ...phases.stages.map((stage, s): [string, typeof stage] => [`phases.stages.${s}`, stage]),
    ['phases.end', phases.end],
  ];
  for (const [field, value] of rated)
    if (value !== undefined && (value.currentA === undefined) === (value.rateC === undefined))
      places.push(
        fieldError(
          field,
          JSON.stringify(value),
          'needs exactly one of currentA and rateC',
          'for example { "rateC": 1 }',
        ),
      );
  if (stack.bypass !== undefined && stack.bypass.length !== description.cells.length)
    places.push(
      fieldError(
        'stack.bypass',
        stack.bypass.length,
        'not one entry per cell',
        `${description.cells.length} entries, null for none`,
      ),
    );
  if (stack.stackVoltageLimitV !== undefined && stack.watch === 'per-cell')
    places.push(
      fieldError(
        'stack.stackVoltageLimitV',
        stack.stackVoltageLimitV,
        'each cell is watched here',
        'leave it out, or set watch to "stack-only"',
      ),
    );
  places.push(...supplyErrors(description));
  return places;
}

function tableErrors(cell: ChargeCellDescription, at: string): ErrorPlace[] {
  const temperatures = cell.temperatureC?.length ?? 1;
  const places: ErrorPlace[] = [];
  const check = (field: string, value: GridValue) => {
    if (!Array.isArray(value)) return;
    if (value.length !== cell.soc.length)
      places.push(
        fieldError(`${at}.${field}`, value.length, 'not one row per SOC', `${cell.soc.length} rows`),
      );
    value.forEach((row, s) => {
      const width = Array.isArray(row) ? row.length : null;
      if (width !== null && width !== temperatures)
        places.push(
          fieldError(`${at}.${field}.${s}`, width, 'not one value per temperature', `${temperatures} values`),
        );
    });
  };
  check('ocvV', cell.ocvV);
  check('r0Ohm', cell.r0Ohm);
  cell.branches.forEach((branch, j) => {
    check(`branches.${j}.rOhm`, branch.rOhm);
    check(`branches.${j}.tauS`, branch.tauS);
  });
  if (cell.entropicVPerK !== undefined) check('entropicVPerK', cell.entropicVPerK);
  return places;
}
