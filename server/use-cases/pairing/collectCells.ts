import { unlikeCurrents } from '../../assess/lots/unlikeCurrents.ts';
import type { CellToPair } from '../../assess/pairing/cellToPair.ts';
import { checkCells } from '../../assess/pairing/pairingChecks.ts';
import { usualColumn } from '../../assess/pairing/usualCriteria.ts';
import { type CellSign, gateColumns, signsOf, type UsualGate } from '../../assess/pairing/usualGates.ts';
import type { Context } from '../../context.ts';
import type { Cell } from '../../contract/cells.ts';
import {
  type CriterionFeature,
  type FeatureQuantity,
  type PairingCriteria,
  unitOfQuantity,
} from '../../contract/pairingCriteria.ts';
import type { PairingWarning } from '../../contract/pairingResult.ts';
import { mostCellsToPair, type PreviewPairing } from '../../contract/pairings.ts';
import { type ErrorPlace, fieldError, notFound, Refusal } from '../../errors.ts';
import { inOrder } from '../../inOrder.ts';
import { findCell, listCells } from '../../store/cells.ts';
import { findCellType } from '../../store/cellTypes.ts';
import { findLotHead } from '../../store/lots.ts';
import { cellsWithExcluded, columnValues, listColumns, readColumnKey } from '../../store/measurements.ts';
import { listAcceptedCells } from '../../store/pairings.ts';
import { findWarningSigns } from '../register/findWarningSigns.ts';
import { type Reduction, temperatureReduction } from '../temperature/temperatureReduction.ts';

/** A cell of the run beside the stored things it represents. */
export interface CollectedCell {
  readonly stored: Cell;
  readonly toPair: CellToPair;
  /** The measurement that each feature's value is; null where there is none. */
  readonly measurementIds: readonly (number | null)[];
}

/** The cells of a run, and the criteria with the key of every column filled in. */
export interface CollectedCells {
  readonly lotIds: readonly number[];
  readonly cells: readonly CollectedCell[];
  readonly criteria: PairingCriteria;
  /** Usual quantities by which outliers are left out besides the features. */
  readonly gates: readonly UsualGate[];
  /** Which cells' values were carried to the stated temperature, which could not be, and which had an unlike current. */
  readonly warnings: readonly PairingWarning[];
}

/** Stored units and their size in the unit of a feature. */
const sizeOfUnit: Readonly<Record<string, { readonly unit: string; readonly factor: number }>> = {
  'A.h': { unit: 'A.h', factor: 1 },
  Ah: { unit: 'A.h', factor: 1 },
  Ohm: { unit: 'Ohm', factor: 1 },
  Ω: { unit: 'Ohm', factor: 1 },
  V: { unit: 'V', factor: 1 },
  'mV/d': { unit: 'V/d', factor: 1e-3 },
  'V/d': { unit: 'V/d', factor: 1 },
  'A.h/{cycle}': { unit: 'A.h/{cycle}', factor: 1 },
  'Ohm/{cycle}': { unit: 'Ohm/{cycle}', factor: 1 },
  g: { unit: 'g', factor: 1 },
  mm: { unit: 'mm', factor: 1 },
  '1': { unit: '1', factor: 1 },
};

/**
 * Gathers the cells that a run may use with the values the criteria ask for: available ones that stand in no accepted
 * pair, of lots of one cell type. Cells with a warning sign come along, so that the run can say why they are out.
 *
 * @throws Refusal for lots or cells that are not there, not available or of different types, for columns that nobody
 *   measured, and for everything {@link checkCells} refuses.
 */
export async function collectCells(context: Context, request: PreviewPairing): Promise<CollectedCells> {
  const chosen = await chooseCells(context, request);
  const lotIds = [...new Set(chosen.map((cell) => cell.lotId))];
  const criteria = await withColumns(context, lotIds, request.criteria);
  const signs = new Map<number, CellSign[]>();
  for (const lotId of lotIds)
    for (const { cellId, code } of await findWarningSigns(context, lotId))
      signs.set(cellId, [...(signs.get(cellId) ?? []), { code, text: code }]);
  const repeated = new Set(
    chosen.map(({ serial }) => serial).filter((serial, i, all) => all.indexOf(serial) !== i),
  );
  const values = await valuesByFeature(context, lotIds, criteria, chosen[0]?.cellTypeId ?? null);
  const excluded = await inOrder(criteria.features, async (feature) => {
    const key = readColumnKey(feature.column ?? '');
    if (key === null) return new Set<number>();
    const cells = await inOrder(lotIds, (lotId) => cellsWithExcluded(context.store, lotId, key.quantity));
    return new Set(cells.flatMap((one) => [...one]));
  });
  const cells = chosen.map((stored): CollectedCell => {
    const found = values.map((byCell) => byCell.get(stored.id) ?? null);
    return {
      stored,
      measurementIds: found.map((value) => value?.measurementId ?? null),
      toPair: {
        cell: repeated.has(stored.serial) ? `${stored.serial} (${stored.lotName})` : stored.serial,
        row: null,
        ...signsOf(signs.get(stored.id) ?? [], criteria),
        values: found.map((value) => value?.value ?? null),
        implausible: criteria.features.flatMap(({ name }, f) =>
          found[f] === null && excluded[f].has(stored.id) ? [name] : [],
        ),
        standardUncertainties: found.map((value) => value?.standardUncertainty ?? null),
      },
    };
  });
  checkCells(
    cells.map((cell) => cell.toPair),
    criteria,
  );
  const warnings = criteria.features.flatMap((feature, i) => [
    ...reductionWarnings(feature, values[i], cells),
    ...currentWarnings(feature, values[i], cells),
  ]);
  const gates = await gatesOf(context, lotIds, criteria, chosen);
  return { lotIds, cells, criteria, gates, warnings };
}

async function chooseCells(context: Context, { lotIds, cellIds }: PreviewPairing): Promise<Cell[]> {
  const { store } = context;
  if (lotIds.length + cellIds.length === 0)
    throw new Refusal('invalid-request', 'Name lots or cells to be paired.', [
      fieldError('lotIds', undefined, 'neither lots nor cells are named', 'one lot at least'),
    ]);
  const accepted = await listAcceptedCells(store);
  const free = (cell: Cell) => cell.state === 'available' && !accepted.has(cell.id);
  const cells = new Map<number, Cell>();
  for (const lotId of lotIds) {
    if (!(await findLotHead(store, lotId))) throw notFound('lot', lotId, 'lotIds');
    for (const cell of await listCells(store, lotId)) if (free(cell)) cells.set(cell.id, cell);
  }
  const places: ErrorPlace[] = [];
  for (const cellId of cellIds) {
    const cell = await findCell(store, cellId);
    if (!cell) throw notFound('cell', cellId, 'cellIds');
    if (free(cell)) cells.set(cell.id, cell);
    else {
      const why = cell.state === 'available' ? 'in an accepted pair' : cell.state;
      places.push(fieldError('cellIds', cellId, `cell ${cell.serial} is ${why}`, 'cells that are available'));
    }
  }
  if (cells.size > mostCellsToPair)
    places.push(
      fieldError(
        'lotIds',
        cells.size,
        'more free cells than one run takes',
        `lots with at most ${mostCellsToPair} free cells, or only some of them as cellIds`,
      ),
    );
  const types = new Set([...cells.values()].map((cell) => cell.cellTypeName));
  if (types.size > 1)
    places.push(
      fieldError('lotIds', [...types].join(', '), 'the cells are of different types', 'cells of one type'),
    );
  if (places.length > 0) throw new Refusal('cannot-pair', 'These cells cannot be paired.', places);
  return [...cells.values()];
}

async function withColumns(
  context: Context,
  lotIds: readonly number[],
  criteria: PairingCriteria,
): Promise<PairingCriteria> {
  const [lotId] = lotIds;
  const columns = lotId === undefined ? [] : await listColumns(context.store, lotId);
  const soc = lotId === undefined ? null : await referenceSoc(context, lotId);
  const places: ErrorPlace[] = [];
  const features = criteria.features.map((feature, i) => {
    const column = feature.column ?? usualColumn(columns, feature.quantity, soc)?.key ?? null;
    if (column === null)
      places.push(
        fieldError(
          `features.${i}.column`,
          feature.quantity,
          'no cell of the lot has such a value',
          'a measured column',
        ),
      );
    else if (!readColumnKey(column))
      places.push(
        fieldError(
          `features.${i}.column`,
          column,
          'is not the key of a column',
          'e.g. resistance/10s/discharge/soc50',
        ),
      );
    return { ...feature, column };
  });
  if (places.length > 0)
    throw new Refusal('cannot-pair', `The criteria ask for what is not there: ${places[0].reason}.`, places);
  return { ...criteria, features };
}

/** The values of the usual quantities by which a run leaves out outliers, for each of its cells. */
async function gatesOf(
  context: Context,
  lotIds: readonly number[],
  criteria: PairingCriteria,
  cells: readonly Cell[],
): Promise<UsualGate[]> {
  const [lotId] = lotIds;
  if (lotId === undefined) return [];
  const columns = await listColumns(context.store, lotId);
  const gated = gateColumns(columns, criteria, await referenceSoc(context, lotId));
  return inOrder(gated, async ({ quantity, column }) => {
    const key = readColumnKey(column.key);
    const values = new Map<number, number | null>();
    if (key !== null)
      for (const lot of lotIds)
        for (const [cellId, { value, unit }] of await columnValues(context.store, lot, key))
          values.set(cellId, value === null ? null : value * (sizeOfUnit[unit]?.factor ?? 1));
    return { name: column.key, quantity, values: cells.map(({ id }) => values.get(id) ?? null) };
  });
}

async function referenceSoc({ store }: Context, lotId: number): Promise<number | null> {
  const lot = await findLotHead(store, lotId);
  return lot === null ? null : ((await findCellType(store, lot.cellTypeId))?.referenceSoc ?? null);
}

interface FeatureValue {
  readonly value: number;
  readonly standardUncertainty: number | null;
  readonly measurementId: number;
  /** Positive on charge. */
  readonly currentA: number | null;
  /** What became of it where the criteria state a temperature for a resistance. */
  readonly outcome: Reduction['outcome'] | null;
}

function reductionWarnings(
  feature: CriterionFeature,
  values: ReadonlyMap<number, FeatureValue>,
  cells: readonly CollectedCell[],
): PairingWarning[] {
  const named = (outcome: Reduction['outcome']) =>
    cells.filter(({ stored }) => values.get(stored.id)?.outcome === outcome).map(({ toPair }) => toPair.cell);
  return (
    [
      { code: 'reduced-to-temperature', feature: feature.name, cells: named('reduced') },
      { code: 'not-at-stated-temperature', feature: feature.name, cells: named('not-reduced') },
    ] as const
  ).filter((warning) => warning.cells.length > 0);
}

/** Cells whose value was measured with a current unlike that of most: paired by it, they are taken for what they are not. */
function currentWarnings(
  feature: CriterionFeature,
  values: ReadonlyMap<number, FeatureValue>,
  cells: readonly CollectedCell[],
): PairingWarning[] {
  const measured = cells.flatMap(({ stored, toPair }) => {
    const found = values.get(stored.id);
    return found === undefined ? [] : [{ cell: toPair.cell, currentA: found.currentA }];
  });
  const unlike = unlikeCurrents(measured).map(({ cell }) => cell);
  return unlike.length === 0 ? [] : [{ code: 'unlike-currents', feature: feature.name, cells: unlike }];
}

const resistances: readonly FeatureQuantity[] = ['resistance', 'ohmic-resistance', 'impedance-1khz'];

async function valuesByFeature(
  context: Context,
  lotIds: readonly number[],
  criteria: PairingCriteria,
  cellTypeId: number | null,
): Promise<Map<number, FeatureValue>[]> {
  return await inOrder(criteria.features, async (feature, i) => {
    const key = readColumnKey(feature.column ?? '');
    const found = new Map<number, FeatureValue>();
    if (!key) return found;
    const toC = resistances.includes(feature.quantity) ? (feature.condition?.temperatureC ?? null) : null;
    const reduce =
      toC === null || cellTypeId === null ? null : await temperatureReduction(context, cellTypeId, key, toC);
    for (const lotId of lotIds) {
      for (const [cellId, stored] of await columnValues(context.store, lotId, key)) {
        const { value, unit, standardUncertainty, measurementId, temperatureC, currentA } = stored;
        if (value === null) continue;
        const size = sizeOfUnit[unit];
        if (feature.quantity !== 'other' && size?.unit !== unitOfQuantity[feature.quantity])
          throw new Refusal('cannot-pair', `The column ${feature.column} is not a ${feature.quantity}.`, [
            fieldError(
              `features.${i}.column`,
              feature.column,
              `is measured in ${unit}`,
              `a column in ${unitOfQuantity[feature.quantity]}`,
            ),
          ]);
        const factor = feature.quantity === 'other' ? 1 : size.factor;
        const measured = {
          value: value * factor,
          standardUncertainty: standardUncertainty === null ? null : standardUncertainty * factor,
        };
        const used = reduce?.({ ...measured, temperatureC }) ?? { ...measured, outcome: null };
        found.set(cellId, { ...used, measurementId, currentA });
      }
    }
    return found;
  });
}
