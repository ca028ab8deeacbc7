import { type Context, inTransaction, nowText } from '../../context.ts';
import type { ChangePair, StoredPair } from '../../contract/pairings.ts';
import { fieldError, notFound, Refusal } from '../../errors.ts';
import { insertAudit } from '../../store/audit.ts';
import { holdCells } from '../../store/heldCells.ts';
import { findPairRow, listRivalPairs, type PairRow, serialsOf, setPairState } from '../../store/pairings.ts';
import { refuseWarningSigns } from '../register/refuseWarningSigns.ts';
import { versionChanged } from '../register/versionChanged.ts';
import { readPair } from './readPairing.ts';
import { findSignsOfPair } from './signsOfPair.ts';

/**
 * Accepts a pair, rejects it, or takes such a decision back. A pair is accepted only while its cells are available, carry
 * no warning sign and stand in no other accepted pair; once a stack is planned, that has to be undone first.
 *
 * @param version the pair's version as it was read: its partners may have been exchanged since
 */
export async function decidePair(
  context: Context,
  pairId: number,
  version: number,
  { state, reason }: ChangePair,
): Promise<StoredPair> {
  const signs = state === 'accepted' ? await findSignsOfPair(context, pairId) : null;
  const decide = async (context: Context) => {
    const pair = await findPairRow(context.store, pairId);
    if (!pair) throw notFound('pair', pairId);
    if (pair.version !== version) throw versionChanged(version, pair.version);
    if (pair.state === state) return;
    if (pair.stackId !== null)
      throw new Refusal('in-use', 'A stack was made of this pair; undo that first.', [
        fieldError('state', state, `the stack ${pair.stackId} holds this pair`, 'a pair without a stack'),
      ]);
    if (signs !== null) {
      await refuseUnlessFree(context, pair);
      refuseWarningSigns(
        signs,
        pair.cells.map((cell) => cell.id),
        'state',
      );
    }
    await setPairState(context.store, pairId, state, state === 'rejected' ? reason : null);
    await insertAudit(context.store, {
      at: nowText(context),
      actor: context.actor.name,
      action: `pair.${state}`,
      subjectKind: 'pair',
      subjectId: pairId,
      detail: { cells: serialsOf(pair), reason: reason ?? null },
    });
  };
  // It depends on the pair, which it changes, and on the cells, which it holds.
  await inTransaction(context, decide, 'snapshot');
  return readPair(context, pairId);
}

/** A pair may be accepted only while all of its cells are free. */
async function refuseUnlessFree({ store }: Context, pair: PairRow): Promise<void> {
  const refuse = (detail: string, reason: string, expected: string) =>
    new Refusal('conflict', detail, [fieldError('state', 'accepted', reason, expected)]);
  const stateOf = await holdCells(
    store,
    pair.cells.map((cell) => cell.id),
  );
  for (const { id, serial } of pair.cells) {
    if (stateOf.get(id) !== 'available')
      throw refuse(
        `The cell ${serial} is ${stateOf.get(id) ?? 'gone'} meanwhile.`,
        `cell ${serial} is not available`,
        'only available cells',
      );
  }
  const [rival] = await listRivalPairs(store, pair);
  if (rival)
    throw refuse(
      `${serialsOf(rival)} is accepted already and holds one of the cells.`,
      `pair ${rival.id} holds one of the cells`,
      'cells in no other accepted pair',
    );
}
