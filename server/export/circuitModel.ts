import type { ChargeCellDescription } from '../contract/chargeStudy.ts';
import type { CellParameters, CellTypeParameters, CircuitTable } from '../contract/parameterSet.ts';
import { type Column, interpolate, statesOf } from './modelColumn.ts';
import { boundedAbove, NEAR_END, openCircuitColumn } from './modelOpenCircuit.ts';
import { checkTable, chooseTables, chosenDirection } from './modelTables.ts';
import { need, optional, requirePositive } from './needed.ts';
import { type PlainRow, padBranches } from './padBranches.ts';
import { type PaddedTables, withSlowBranches } from './slowBranch.ts';

/** Which of a cell's tables are taken where it has several, and where the simulated cell starts. */
export interface CircuitChoice {
  /** Default: `charge` where the cell has a table of charge pulses, else `discharge`. */
  readonly direction?: 'charge' | 'discharge';
  readonly startSoc?: number;
}

/** A cell's circuit model with what a reader of the file must know about its sources. */
export interface CircuitModel {
  readonly cell: ChargeCellDescription;
  readonly direction: 'charge' | 'discharge';
  readonly notes: readonly string[];
  /** What makes a charge computed with it wrong, as codes with a sentence each. */
  readonly warnings: readonly { readonly code: string; readonly message: string }[];
}

/**
 * A cell's circuit model as the study of a charge describes it, made from its fitted tables: the same document drives
 * the simulation, the circuit simulator's model and the firmware's tables, so that the three cannot differ.
 *
 * Tables on different SOC grids are brought onto one grid by straight lines, which changes nothing, since a table is read
 * by straight lines; states that are the same within what charge counting can tell are one. Where the test's long rests
 * show polarisation slower than its pulses, a branch holds it. Beyond a table's own ends its edge value is held; the
 * open-circuit voltage goes on with the slope of its last stretch, upwards to no more than the charge voltage limit at full.
 *
 * @throws ExportRefused naming what is missing or outside its physical range.
 */
export function circuitModelOf(
  cell: CellParameters,
  cellType: CellTypeParameters,
  choice: CircuitChoice = {},
): CircuitModel {
  const name = `cell "${cell.serial}"`;
  const direction = chosenDirection(cell, choice.direction);
  const chosen = chooseTables(cell, direction, name);
  for (const table of chosen) checkTable(table, name);
  const capacityAh = need(cell.capacity, `${name}: capacity`, 'no-capacity');
  requirePositive(capacityAh, `${name}: capacity`);
  const padded = withSlowBranches(chosen, padBranches(chosen));
  const maxVoltageV = need(
    cellType.limits.chargeVoltage,
    `cell type "${cellType.name}": charge voltage`,
    'number-missing',
  );
  const measured = openCircuitColumn(cell, chosen, name);
  const ocv = boundedAbove(measured, maxVoltageV);
  const soc = statesOf(
    ocv.soc,
    chosen.map((table) => table.rows.map((row) => row.soc)),
  );
  const grid = (pick: (row: PlainRow) => number): number[] | number[][] => {
    const perTemperature = padded.tables.map((rows) => {
      const column = { soc: rows.map((row) => row.soc), values: rows.map(pick) };
      return soc.map((z) => interpolate(column, z, 'hold'));
    });
    return chosen.length === 1
      ? perTemperature[0]
      : soc.map((_, i) => perTemperature.map((values) => values[i]));
  };
  const thermal = thermalOf(cell, cellType);
  const description: ChargeCellDescription = {
    name: cell.serial.slice(0, 120),
    chemistry: cellType.chemistry.slice(0, 60),
    capacityAh,
    ratedCapacityAh: need(
      cellType.ratedCapacity,
      `cell type "${cellType.name}": rated capacity`,
      'no-capacity',
    ),
    soc,
    ...(chosen.some((table) => table.temperatureC === null)
      ? {}
      : { temperatureC: chosen.map((table) => table.temperatureC ?? 0) }),
    ocvV: soc.map((z) => interpolate(ocv, z, 'extend')),
    ocvInterpolation: 'linear',
    r0Ohm: grid((row) => row.r0),
    branches: Array.from({ length: padded.branchCount }, (_, j) => ({
      rOhm: grid((row) => row.branches[j].r),
      tauS: grid((row) => row.branches[j].tau),
    })),
    ...(thermal === null ? {} : { thermal }),
    startSoc: choice.startSoc ?? Math.min(1, Math.max(0, soc[0])),
    datasheet: datasheetOf(cellType),
  };
  const notes = notesOf(cell, direction, chosen, padded);
  return { cell: description, direction, notes, warnings: warningsOf(chosen, padded, measured) };
}

/**
 * The same for a study of a charge: an open-circuit curve of a few rests is read by a monotone cubic, because straight
 * lines between states a tenth apart cut the bends of the curve.
 *
 * @throws ExportRefused as {@link circuitModelOf}
 */
export function studyModel(
  cell: CellParameters,
  cellType: CellTypeParameters,
  startSoc?: number,
): CircuitModel {
  const model = circuitModelOf(cell, cellType, startSoc === undefined ? {} : { startSoc });
  const few = cell.openCircuit === null || cell.openCircuit.source === 'rests';
  return { ...model, cell: { ...model.cell, ocvInterpolation: few ? 'pchip' : 'linear' } };
}

function notesOf(
  cell: CellParameters,
  direction: 'charge' | 'discharge',
  tables: readonly CircuitTable[],
  { paddedSoc, slow }: PaddedTables,
): string[] {
  const currentA = Math.max(0, ...tables.map((table) => table.validity.currentMaxA ?? 0));
  const size = currentA === 0 ? '' : ` of up to ${Number(currentA.toPrecision(3))} A`;
  const why =
    direction === 'discharge' && cell.circuits.some((table) => table.direction === 'charge')
      ? ', which show more of the polarisation than the charge pulses'
      : '';
  const notes = [`resistances from ${direction} pulses${size}${why}`];
  notes.push(
    cell.openCircuit === null
      ? 'open-circuit voltage from the fits of the pulses'
      : `open-circuit voltage from ${cell.openCircuit.source}`,
  );
  if (slow) notes.push('slow polarisation from the rests after long loads');
  if (paddedSoc.length > 0)
    notes.push(
      `fewer branches were fitted at SOC ${paddedSoc.map((soc) => Number(soc.toFixed(3))).join(', ')}; the missing ones have resistance 0 there`,
    );
  return notes;
}

function datasheetOf(cellType: CellTypeParameters): ChargeCellDescription['datasheet'] {
  const where = `cell type "${cellType.name}"`;
  const { limits } = cellType;
  return {
    maxVoltageV: need(limits.chargeVoltage, `${where}: charge voltage`, 'number-missing'),
    maxChargeCurrentA: need(limits.chargeCurrent, `${where}: charge current`, 'number-missing'),
    ...optional('minChargeTemperatureC', limits.chargeTemperatureMin.value),
    ...optional('maxChargeTemperatureC', limits.chargeTemperatureMax.value),
    ...(limits.chargeZones === undefined || limits.chargeZones.length === 0
      ? {}
      : {
          zones: limits.chargeZones.map(({ fromC, toC, maxCurrentA, maxVoltageV }) => ({
            fromC,
            toC,
            ...optional('maxCurrentA', maxCurrentA),
            ...optional('maxVoltageV', maxVoltageV),
          })),
        }),
    defaults: limits.commonPractice.length > 0,
  };
}

/** The cell's own heat balance where one was taken over, else that of its type. */
function thermalOf(
  cell: CellParameters,
  cellType: CellTypeParameters,
): { heatCapacityJPerK: number; heatTransferWPerK: number; basis: 'entered' | 'fitted' } | null {
  const heatCapacityJPerK = (cell.heat ?? cellType).heatCapacity.value;
  const heatTransferWPerK = (cell.heat ?? cellType).heatTransfer.value;
  if (heatCapacityJPerK === null || heatTransferWPerK === null) return null;
  const of = cell.heat === undefined ? `cell type "${cellType.name}"` : `cell "${cell.serial}"`;
  requirePositive(heatCapacityJPerK, `${of}: heat capacity`);
  requirePositive(heatTransferWPerK, `${of}: heat transfer`);
  return { heatCapacityJPerK, heatTransferWPerK, basis: cell.heat === undefined ? 'entered' : 'fitted' };
}

/** What the gaps of the parameters do to a charge that is computed with them. */
function warningsOf(
  tables: readonly CircuitTable[],
  { branchCount, slow }: PaddedTables,
  { soc }: Column,
): CircuitModel['warnings'] {
  const seenS = Math.max(0, ...tables.map((table) => table.validity.durationMaxS ?? 0));
  const warnings: { code: string; message: string }[] = [];
  if (branchCount === 0)
    warnings.push({
      code: 'no-polarisation',
      message:
        'no RC branch was fitted, so polarisation is missing: the cell meets its voltage limit later here, and charges faster, than it will',
    });
  else if (!slow)
    warnings.push({
      code: 'no-slow-polarisation',
      message:
        `polarisation slower than the pulses${seenS > 0 ? ` (${Number(seenS.toPrecision(2))} s)` : ''} is not in the parameters; in a charge of an ` +
        'hour or more it can add half as much again to the voltage drop, so expect the voltage limit sooner and a longer end; ' +
        'rests of 15 min and more after steady loads in the pulse test show it',
    });
  const percent = (z: number) => `${Number((100 * z).toFixed(1))} %`;
  const last = soc[soc.length - 1];
  if (last < 1 - NEAR_END)
    warnings.push({
      code: 'open-circuit-extrapolated',
      message:
        `the open-circuit voltage was measured up to ${percent(last)} SOC; above, it goes on with its last slope to no more than the ` +
        'charge voltage limit, and decides when that is met',
    });
  if (soc[0] > NEAR_END)
    warnings.push({
      code: 'open-circuit-extrapolated-below',
      message:
        `the open-circuit voltage was measured down to ${percent(soc[0])} SOC; below, it goes on with its first slope, while a real cell ` +
        'falls more steeply',
    });
  return warnings;
}
