import { type Context, inTransaction, nowText } from '../../context.ts';
import type { QuantityValue } from '../../contract/common.ts';
import type { PairingResult } from '../../contract/pairingResult.ts';
import type { CreateStack, Stack } from '../../contract/stacks.ts';
import { fieldError, notFound, Refusal } from '../../errors.ts';
import { insertAudit } from '../../store/audit.ts';
import { holdCells } from '../../store/heldCells.ts';
import { findPairRow, serialsOf, touchPair } from '../../store/pairings.ts';
import { findStack, insertStack, setCellState, stackNameIsTaken } from '../../store/stacks.ts';
import { readRun } from '../pairing/readPairing.ts';
import { findSignsOfPair } from '../pairing/signsOfPair.ts';
import { refuseWarningSigns, type SignsByCell } from '../register/refuseWarningSigns.ts';

/**
 * Plans a stack from an accepted pair: its cells are taken, and the measured values they were chosen by are kept with
 * the stack as they were. A plan can be taken back until the stack is built.
 *
 * @param prepared what {@link findSignsOfPair} gave, where the stack is planned in a transaction
 */
export async function planStack(
  context: Context,
  { pairId, name, note }: CreateStack,
  prepared?: SignsByCell,
): Promise<Stack> {
  const { store } = context;
  const signs = prepared ?? (await findSignsOfPair(context, pairId, 'pairId'));
  const id = await inTransaction(context, async (context) => {
    const pair = await findPairRow(context.store, pairId);
    if (!pair) throw notFound('pair', pairId, 'pairId');
    if (pair.stackId !== null)
      throw new Refusal('conflict', 'A stack was made of this pair already.', [
        fieldError('pairId', pairId, `the stack ${pair.stackId} holds it`, 'a pair without a stack'),
      ]);
    if (pair.state !== 'accepted')
      throw new Refusal('conflict', 'Only an accepted pair becomes a stack.', [
        fieldError('pairId', pairId, `the pair is ${pair.state}`, 'an accepted pair'),
      ]);
    const { cells } = pair;
    const cellIds = cells.map((cell) => cell.id);
    const stateOf = await holdCells(context.store, cellIds);
    const taken = cells.find((cell) => stateOf.get(cell.id) !== 'available');
    if (taken)
      throw new Refusal('conflict', `The cell ${taken.serial} is ${stateOf.get(taken.id)} meanwhile.`, [
        fieldError('pairId', pairId, `cell ${taken.serial} is not available`, 'only available cells'),
      ]);
    const { result, inputs } = await readRun(context, pair.pairingId);
    refuseWarningSigns(signs, cellIds, 'pairId');
    const chosenBy = (cellId: number) =>
      valuesOf(result, inputs.find((input) => input.cellId === cellId)?.cell ?? '');
    const at = nowText(context);
    const stackId = await insertStack(context.store, {
      name: await freeName(context, name, serialsOf(pair)),
      note,
      pairId,
      createdAt: at,
      cells: cells.map((cell) => ({ cellId: cell.id, chosenBy: chosenBy(cell.id) })),
    });
    for (const cell of cells) await setCellState(context.store, cell.id, 'in-stack', null);
    await touchPair(context.store, pairId);
    await insertAudit(context.store, {
      at,
      actor: context.actor.name,
      action: 'stack.planned',
      subjectKind: 'stack',
      subjectId: stackId,
      detail: { cells: serialsOf(pair) },
    });
    return stackId;
  });
  return (await findStack(store, id))!;
}

/** The values a run knew of a cell, by feature. */
function valuesOf(result: PairingResult, cell: string): Record<string, QuantityValue> {
  const kept = result.cells.find((candidate) => candidate.cell === cell)?.values ?? [];
  return Object.fromEntries(
    kept.map(({ feature, value, standardUncertainty }) => [
      feature,
      {
        value,
        unit: result.features.find((used) => used.name === feature)?.unit ?? '1',
        standardUncertainty,
        reason: standardUncertainty === null ? 'uncertainty-not-stated' : null,
      },
    ]),
  );
}

/** The name people gave, or one from the serials that is not taken. */
async function freeName(context: Context, given: string | undefined, usual: string): Promise<string> {
  if (given === undefined) {
    let name = usual.slice(0, 110);
    for (let n = 2; await stackNameIsTaken(context.store, name); n++) name = `${usual.slice(0, 110)} (${n})`;
    return name;
  }
  if (await stackNameIsTaken(context.store, given))
    throw new Refusal('conflict', `A stack named ${given} is there already.`, [
      fieldError('name', given, 'is taken', 'another name'),
    ]);
  return given;
}
