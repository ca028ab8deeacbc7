import type { Context } from '../../context.ts';
import type { Stack } from '../../contract/stacks.ts';
import { fieldError, Refusal } from '../../errors.ts';
import { findNewestAudit } from '../../store/audit.ts';
import { findCell } from '../../store/cells.ts';
import { setCellState } from '../../store/stacks.ts';
import { isWithinADay } from '../withinADay.ts';

/** Why the cells of a retired stack are set aside. */
export function retiredReason({ name }: Pick<Stack, 'name'>): string {
  return `taken out of the stack ${name}`;
}

/** That a stack was built or retired can be taken back for a day. @throws Refusal `conflict` */
export async function refuseAfterADay(context: Context, stack: Stack): Promise<void> {
  const since =
    stack.state === 'built'
      ? stack.builtAt
      : ((await findNewestAudit(context.store, 'stack.retired', 'stack', stack.id))?.at ?? null);
  if (since !== null && isWithinADay(context, since)) return;
  throw new Refusal('conflict', `That ${stack.name} is ${stack.state} can be taken back for a day only.`, [
    fieldError('state', stack.state, `${stack.state} since ${since ?? 'an unknown time'}`, 'within 24 hours'),
  ]);
}

/** The cells of a retired stack are in it again. @throws Refusal `conflict` naming a cell that is used otherwise */
export async function takeCellsBack(context: Context, stack: Stack): Promise<void> {
  for (const { cellId, serial } of stack.cells) {
    const cell = await findCell(context.store, cellId);
    if (cell?.state !== 'set-aside' || cell.stateReason !== retiredReason(stack))
      throw new Refusal('conflict', `The cell ${serial} is no longer set aside from this stack.`, [
        fieldError('state', serial, `the cell is ${cell?.state ?? 'gone'}`, retiredReason(stack)),
      ]);
    await setCellState(context.store, cellId, 'in-stack', null);
  }
}
