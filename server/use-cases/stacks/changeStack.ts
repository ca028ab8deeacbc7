import { type Context, inTransaction, nowText } from '../../context.ts';
import type { ChangeStack, Stack } from '../../contract/stacks.ts';
import { fieldError, notFound, Refusal } from '../../errors.ts';
import { insertAudit } from '../../store/audit.ts';
import { setPairState, touchPair } from '../../store/pairings.ts';
import { countStackLogs } from '../../store/stackLogs.ts';
import { deleteStack, findStack, setCellState, stackNameIsTaken, updateStack } from '../../store/stacks.ts';
import { versionChanged } from '../register/versionChanged.ts';
import { refuseAfterADay, retiredReason, takeCellsBack } from './stackWayBack.ts';

/** Which state a stack may go to from which. */
const allowed = {
  planned: ['built'],
  built: ['retired', 'planned'],
  retired: ['built'],
} as const satisfies Record<Stack['state'], readonly Stack['state'][]>;

/**
 * Renames a stack, notes its next check-up, marks it as built, or retires it. The cells of a retired stack are set aside:
 * they have aged together and are measured again before anyone uses them. Building and retiring can be taken back for a day.
 */
export async function changeStack(
  context: Context,
  id: number,
  version: number,
  fields: ChangeStack,
): Promise<Stack> {
  const { store } = context;
  await inTransaction(context, async (context) => {
    const present = await needStack(context, id, version);
    const { state, name } = fields;
    const next = state === undefined || state === present.state ? null : state;
    if (next !== null && !(allowed[present.state] as readonly string[]).includes(next))
      throw new Refusal('conflict', `A ${present.state} stack cannot become ${next}.`, [
        fieldError(
          'state',
          next,
          `the stack is ${present.state}`,
          allowed[present.state].join(' or ') || 'no other state',
        ),
      ]);
    if (name !== undefined && name !== present.name && (await stackNameIsTaken(context.store, name)))
      throw new Refusal('conflict', `A stack named ${name} is there already.`, [
        fieldError('name', name, 'is taken', 'another name'),
      ]);
    const goesBack = next === 'planned' || (present.state === 'retired' && next === 'built');
    if (goesBack) await refuseAfterADay(context, present);
    const at = nowText(context);
    await updateStack(context.store, id, {
      name: name ?? present.name,
      note: fields.note ?? present.note,
      state: next ?? present.state,
      builtAt: next === 'planned' ? null : next === 'built' && !goesBack ? at : present.builtAt,
      checkUpDueAt: fields.checkUpDueAt === undefined ? present.checkUpDueAt : fields.checkUpDueAt,
    });
    if ((next === 'built' || next === 'planned') && present.pairId !== null)
      await setPairState(context.store, present.pairId, next === 'built' ? 'built' : 'accepted', null);
    if (goesBack && next === 'built') await takeCellsBack(context, present);
    if (next === 'retired')
      for (const { cellId } of present.cells)
        await setCellState(context.store, cellId, 'set-aside', retiredReason(present));
    await insertAudit(context.store, {
      at,
      actor: context.actor.name,
      action: next === null ? 'stack.changed' : goesBack ? 'stack.taken-back' : `stack.${next}`,
      subjectKind: 'stack',
      subjectId: id,
      detail: { fields: Object.keys(fields).join(', ') },
    });
  });
  return (await findStack(store, id))!;
}

/** Takes the plan of a stack back: its cells are available again and its pair stays accepted. */
export async function undoStack(context: Context, id: number, version: number): Promise<void> {
  await inTransaction(context, async (context) => {
    const present = await needStack(context, id, version);
    if (present.state !== 'planned')
      throw new Refusal(
        'in-use',
        `The stack ${present.name} is ${present.state}; only a planned one can be undone.`,
      );
    const logs = await countStackLogs(context.store, id);
    if (logs > 0)
      throw new Refusal(
        'in-use',
        `The stack ${present.name} has ${logs === 1 ? 'a log' : `${logs} logs`}; it is kept with them.`,
      );
    for (const { cellId } of present.cells) await setCellState(context.store, cellId, 'available', null);
    await deleteStack(context.store, id);
    if (present.pairId !== null) await touchPair(context.store, present.pairId);
    await insertAudit(context.store, {
      at: nowText(context),
      actor: context.actor.name,
      action: 'stack.taken-back',
      subjectKind: 'stack',
      subjectId: id,
      detail: { name: present.name, cells: present.cells.map(({ serial }) => serial).join(' + ') },
    });
  });
}

async function needStack(context: Context, id: number, version: number): Promise<Stack> {
  const present = await findStack(context.store, id);
  if (!present) throw notFound('stack', id);
  if (present.version !== version) throw versionChanged(version, present.version);
  return present;
}
