import { z } from 'zod';
import type { Context } from '../../context.ts';
import { id } from '../../contract/common.ts';
import { proposedPair } from '../../contract/pairingProposal.ts';
import { pairingResult } from '../../contract/pairingResult.ts';
import { type StoredPair, type StoredPairing, storedPairing } from '../../contract/pairings.ts';
import { notFound } from '../../errors.ts';
import { listChangedMeasurements } from '../../store/changedMeasurements.ts';
import {
  findPairingRow,
  findPairRow,
  listPairRows,
  type PairingRow,
  type PairRow,
} from '../../store/pairings.ts';
import { parseStored } from '../../store/storedJson.ts';

const keptRun = z.object({
  result: pairingResult,
  lotIds: z.array(id),
  inputs: storedPairing.shape.inputs,
});

/** What a run was made of and what it proposed: what never changes of it, without what became of its pairs. */
export interface Run extends Pick<PairingRow, 'id' | 'createdAt' | 'createdBy'>, z.infer<typeof keptRun> {}

/** What never changes of a run. */
export async function readRun({ store }: Context, pairingId: number): Promise<Run> {
  const row = await findPairingRow(store, pairingId);
  if (!row) throw notFound('pairing', pairingId);
  const { id, createdAt, createdBy } = row;
  return { id, createdAt, createdBy, ...parseStored(keptRun, row.resultJson, `result of pairing ${id}`) };
}

/** A stored run with its pairs as they stand now. */
export async function readPairing(context: Context, pairingId: number): Promise<StoredPairing> {
  const { id, createdAt, createdBy, result, lotIds, inputs } = await readRun(context, pairingId);
  const pairs = await listPairRows(context.store, pairingId);
  return {
    id,
    // A run never changes; what is decided about its pairs counts their versions up.
    version: pairs.reduce((sum, pair) => sum + pair.version, 1),
    name: result.criteria.name,
    createdAt,
    createdBy,
    lotIds,
    result,
    pairs: pairs.map((pair) => presentPair(pair, result.pairs)),
    inputs,
    changedSince: await readChangedInputs(context, inputs),
  };
}

/** One pair of a run. */
export async function readPair(context: Context, pairId: number): Promise<StoredPair> {
  const row = await findPairRow(context.store, pairId);
  if (!row) throw notFound('pair', pairId);
  return presentPair(row, (await readRun(context, row.pairingId)).result.pairs);
}

/** The cells with a compared value that was superseded or left out since. */
async function readChangedInputs(
  context: Context,
  inputs: StoredPairing['inputs'],
): Promise<StoredPairing['changedSince']> {
  const ids = inputs.flatMap((i) => i.measurementIds).filter((m) => m !== null);
  const changed = await listChangedMeasurements(context.store, ids);
  return inputs.flatMap(({ cell, cellId, measurementIds }) => {
    const reason = measurementIds.map((m) => (m === null ? undefined : changed.get(m))).find((r) => r);
    return reason === undefined ? [] : [{ cell, cellId, reason }];
  });
}

function presentPair(row: PairRow, proposed: StoredPairing['result']['pairs']): StoredPair {
  const detail = parseStored(proposedPair, row.detailJson, `detail of pair ${row.id}`);
  return {
    id: row.id,
    version: row.version,
    pairingId: row.pairingId,
    position: row.position,
    cells: [...row.cells],
    cost: row.cost,
    state: row.state,
    reason: row.reason,
    locked: detail.locked,
    exchanged: !proposed.some(({ cells }) => cells.every((cell) => detail.cells.includes(cell))),
    stackId: row.stackId,
    detail,
  };
}
