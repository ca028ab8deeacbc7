import { z } from 'zod';
import type { Context } from '../../context.ts';
import type { Cell } from '../../contract/cells.ts';
import type { CellType } from '../../contract/cellTypes.ts';
import {
  type CellTypeParameters,
  PARAMETER_SET_SCHEMA,
  PARAMETER_SET_VERSION,
  type ParameterSet,
  type ParameterValue,
  type UcumUnit,
} from '../../contract/parameterSet.ts';
import { notFound } from '../../errors.ts';
import { cautionsFor } from '../../export/cautions.ts';
import { softwareVersion } from '../../export/softwareVersion.ts';
import { ucumCode } from '../../export/ucum.ts';
import { inOrder } from '../../inOrder.ts';
import { findCell, listCells } from '../../store/cells.ts';
import { findCellType } from '../../store/cellTypes.ts';
import { findLot } from '../../store/lots.ts';
import { findPairRow, listPairRows, listStandingPairs, type PairRow } from '../../store/pairings.ts';
import { findPairingLot, listLotIds, readOrigins } from '../../store/parameterSources.ts';
import { findStack } from '../../store/stacks.ts';
import { parseStored } from '../../store/storedJson.ts';
import { readCellParameters } from './readCellParameters.ts';
import { readSpread } from './readSpread.ts';

/** What a parameter set is gathered from, before its cells are read. */
interface Subject {
  readonly name: string;
  readonly cellTypeId: number;
  readonly cells: readonly Cell[];
  readonly stack: ParameterSet['stack'];
  readonly pairs: readonly PairRow[];
  readonly spreadOverLots: readonly number[];
}

/**
 * The parameter set of a cell, pair, stack, lot, pairing or cell type: everything valid that is known of it, with
 * uncertainties, conditions and provenance. It holds no time and no name of who asks, so that the same parameters give
 * the same document.
 *
 * @throws Refusal `not-found` where there is no such thing.
 */
export async function readParameters(
  context: Context,
  kind: ParameterSet['kind'],
  id: number,
): Promise<ParameterSet> {
  const subject = await findSubject(context, kind, id);
  const cellType = await findCellType(context.store, subject.cellTypeId);
  if (!cellType) throw notFound('cell type', subject.cellTypeId);
  const cells = await inOrder(subject.cells, async (cell) => readCellParameters(context, cell));
  const typeParameters = cellTypeParametersOf(cellType);
  const fits = new Set<number>();
  const tests = new Set<number>();
  const files = new Set<number>();
  const add = (set: Set<number>, value: number | null | undefined) => {
    if (value !== null && value !== undefined) set.add(value);
  };
  for (const cell of cells) {
    add(fits, cell.heat?.fitId);
    for (const origin of [...cell.measurements, ...cell.circuits, ...cell.ageing, cell.openCircuit]) {
      if (origin === null) continue;
      add(fits, origin.fitId);
      if ('testId' in origin) add(tests, origin.testId);
      if ('fileId' in origin) add(files, origin.fileId);
    }
  }
  return {
    schema: PARAMETER_SET_SCHEMA,
    schemaVersion: PARAMETER_SET_VERSION,
    kind,
    subject: { id, name: subject.name },
    cellType: typeParameters,
    cells,
    stack: subject.stack,
    pairs: subject.pairs.map(pairParametersOf),
    spread: await readSpread(context, subject.spreadOverLots),
    cautions: cautionsFor(typeParameters.limits.commonPractice),
    provenance: {
      software: { name: 'gemel', version: softwareVersion },
      ...(await readOrigins(context.store, { fits, tests, files })),
    },
  };
}

async function findSubject(context: Context, kind: ParameterSet['kind'], id: number): Promise<Subject> {
  const none = { stack: null, pairs: [], spreadOverLots: [] };
  switch (kind) {
    case 'cell': {
      const cell = await needCell(context, id);
      return { ...none, name: cell.serial, cellTypeId: cell.cellTypeId, cells: [cell] };
    }
    case 'pair': {
      const pair = await findPairRow(context.store, id);
      if (!pair) throw notFound('pair', id);
      const cells = await inOrder(pair.cells, async (cell) => needCell(context, cell.id));
      const name = cells.map((cell) => cell.serial).join(' + ');
      return { ...none, name, cellTypeId: cells[0].cellTypeId, cells, pairs: [pair] };
    }
    case 'stack': {
      const stack = await findStack(context.store, id);
      if (!stack) throw notFound('stack', id);
      const cells = await inOrder(stack.cells, async (cell) => needCell(context, cell.cellId));
      const pair = stack.pairId === null ? null : await findPairRow(context.store, stack.pairId);
      return {
        ...none,
        name: stack.name,
        cellTypeId: cells[0].cellTypeId,
        cells,
        stack: { id: stack.id, name: stack.name, state: stack.state, cellIds: cells.map((cell) => cell.id) },
        pairs: pair === null ? [] : [pair],
      };
    }
    case 'lot': {
      const lot = await findLot(context.store, id);
      if (!lot) throw notFound('lot', id);
      return {
        ...none,
        name: lot.name,
        cellTypeId: lot.cellTypeId,
        cells: await listCells(context.store, id),
        pairs: await listStandingPairs(context.store, id),
        spreadOverLots: [id],
      };
    }
    case 'pairing': {
      const pairing = await findPairingLot(context.store, id);
      const lot = pairing === null ? null : await findLot(context.store, pairing.lotId);
      if (!lot) throw notFound('pairing', id);
      const pairs = await listPairRows(context.store, id);
      const cells = await inOrder(
        pairs.flatMap((pair) => pair.cells.map((cell) => cell.id)),
        async (cellId) => needCell(context, cellId),
      );
      return { ...none, name: `${lot.name}, pairing ${id}`, cellTypeId: lot.cellTypeId, cells, pairs };
    }
    case 'cell-type': {
      const cellType = await findCellType(context.store, id);
      if (!cellType) throw notFound('cell type', id);
      return {
        ...none,
        name: cellType.name,
        cellTypeId: id,
        cells: [],
        spreadOverLots: await listLotIds(context.store, id),
      };
    }
  }
}

async function needCell(context: Context, id: number): Promise<Cell> {
  const cell = await findCell(context.store, id);
  if (!cell) throw notFound('cell', id);
  return cell;
}

/** What is kept with a pair of the optimiser's comparison of its cells. */
const pairDetail = z.object({
  differences: z
    .array(
      z.object({
        feature: z.string(),
        unit: z.string(),
        difference: z.number(),
        standardUncertainty: z.number().nullable(),
        inTolerances: z.number(),
      }),
    )
    .default([]),
});

function pairParametersOf(pair: PairRow): ParameterSet['pairs'][number] {
  return {
    id: pair.id,
    pairingId: pair.pairingId,
    position: pair.position,
    state: pair.state,
    cellIds: pair.cells.map((cell) => cell.id),
    cost: pair.cost,
    differences: parseStored(pairDetail, pair.detailJson, `detail of pair ${pair.id}`).differences.map(
      (difference) => ({ ...difference, unit: ucumCode(difference.unit) }),
    ),
  };
}

function stated(value: number | null, unit: UcumUnit): ParameterValue {
  return value === null
    ? { value: null, unit, standardUncertainty: null, reason: 'not-stated' }
    : { value, unit, standardUncertainty: null, reason: 'no-uncertainty-stated' };
}

function cellTypeParametersOf(cellType: CellType): CellTypeParameters {
  const { limits } = cellType;
  const noZones = cellType.chargeZones.length === 0;
  const commonPractice = [
    cellType.chargeVoltageLimitV === null ? 'chargeVoltage' : null,
    cellType.dischargeCutoffV === null ? 'dischargeCutoff' : null,
    limits.maxChargeCurrentBasis === 'common-practice' ? 'chargeCurrent' : null,
    cellType.chargeTemperatureMinC === null && noZones ? 'chargeTemperatureMin' : null,
    cellType.chargeTemperatureMaxC === null && noZones ? 'chargeTemperatureMax' : null,
  ].filter((name) => name !== null);
  return {
    id: cellType.id,
    name: cellType.name,
    maker: cellType.maker,
    chemistry: cellType.chemistryName,
    ratedCapacity: stated(cellType.ratedCapacityAh, 'A.h'),
    limits: {
      chargeVoltage: stated(limits.chargeVoltageLimitV, 'V'),
      dischargeCutoff: stated(limits.dischargeCutoffV, 'V'),
      chargeCurrent: stated(limits.maxChargeCurrentA, 'A'),
      chargeTemperatureMin: stated(limits.chargeTemperatureMinC, 'Cel'),
      chargeTemperatureMax: stated(limits.chargeTemperatureMaxC, 'Cel'),
      commonPractice,
      chargeZones: cellType.chargeZones.map(({ fromC, toC, maxChargeCurrentA, maxVoltageV }) => ({
        fromC,
        toC,
        maxCurrentA: maxChargeCurrentA,
        maxVoltageV,
      })),
    },
    heatCapacity: stated(cellType.heatCapacityJPerK, 'J/K'),
    heatTransfer: stated(cellType.heatTransferWPerK, 'W/K'),
    mass: stated(cellType.massG, 'g'),
  };
}
