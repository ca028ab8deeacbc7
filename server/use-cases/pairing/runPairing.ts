import { type Context, inTransaction, nowText } from '../../context.ts';
import type { CreatePairing, StoredPairing } from '../../contract/pairings.ts';
import { insertAudit } from '../../store/audit.ts';
import { insertPairing } from '../../store/pairings.ts';
import type { Store } from '../../store/store.ts';
import type { Sharing } from '../../threads/shareOut.ts';
import { collectCells } from './collectCells.ts';
import { pairInThreads } from './pairInThreads.ts';
import { readPairing } from './readPairing.ts';

/**
 * Puts stored cells together by their measured values and keeps the run with its pairs (or larger groups) as proposals. Nothing is kept of a run
 * that is refused or cut short.
 *
 * @param note is called in the transaction that stores the run
 */
export async function runPairing(
  context: Context,
  request: CreatePairing,
  note: (tx: Store, pairingId: number) => Promise<void> = async () => {},
  sharing: Sharing = { crew: null },
): Promise<StoredPairing> {
  const criteria = { ...request.criteria, name: request.name ?? request.criteria.name };
  const collected = await collectCells(context, { ...request, criteria });
  const cells = collected.cells.map((cell) => cell.toPair);
  const paired = await pairInThreads({ ...collected, cells }, sharing);
  const result = { ...paired, warnings: [...paired.warnings, ...collected.warnings] };
  const idOf = new Map(collected.cells.map(({ toPair, stored }) => [toPair.cell, stored.id]));
  const createdAt = nowText(context);
  const id = await inTransaction(context, async (context) => {
    const pairingId = await insertPairing(context.store, {
      lotId: collected.lotIds[0],
      criteriaJson: JSON.stringify(result.criteria),
      resultJson: JSON.stringify({
        result,
        lotIds: collected.lotIds,
        inputs: collected.cells.map(({ toPair, stored, measurementIds }) => ({
          cell: toPair.cell,
          cellId: stored.id,
          measurementIds,
        })),
      }),
      algorithm: result.algorithm.name,
      algorithmVersion: String(result.algorithm.version),
      unpairedCount: result.unpaired.length,
      totalCost: result.totalCost,
      proven: result.certificate.proven,
      createdAt,
      createdBy: context.actor.name,
      pairs: result.pairs.map((pair) => ({
        cellIds: pair.cells.map((cell) => idOf.get(cell)!),
        cost: pair.cost,
        detailJson: JSON.stringify(pair),
      })),
    });
    await insertAudit(context.store, {
      at: createdAt,
      actor: context.actor.name,
      action: 'pairing.made',
      subjectKind: 'pairing',
      subjectId: pairingId,
      detail: { name: criteria.name, pairs: result.pairs.length, proven: result.certificate.proven },
    });
    await note(context.store, pairingId);
    return pairingId;
  });
  return readPairing(context, id);
}
