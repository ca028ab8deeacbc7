import type { Context } from '../../context.ts';
import type { HistoryEntry } from '../../contract/cells.ts';
import { notFound } from '../../errors.ts';
import { listHistory } from '../../store/audit.ts';
import { findCell, listCellSubjects } from '../../store/cells.ts';

/** Everything that happened to a cell, to its tests, pairs and stacks, and to the file that brought it. */
export async function readCellHistory(context: Context, cellId: number): Promise<HistoryEntry[]> {
  if (!(await findCell(context.store, cellId))) throw notFound('cell', cellId);
  return listHistory(context.store, await listCellSubjects(context.store, cellId));
}
