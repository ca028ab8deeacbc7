import type { Context } from '../../context.ts';
import type { HistoryEntry } from '../../contract/cells.ts';
import { notFound } from '../../errors.ts';
import { listHistory } from '../../store/audit.ts';
import { findCell, listCellSubjects } from '../../store/cells.ts';

/** Everything that happened to a cell, to its tests, pairs and stacks, and to the file that brought it. */
export function readCellHistory(context: Context, cellId: number): HistoryEntry[] {
  if (!findCell(context.store, cellId)) throw notFound('cell', cellId);
  return listHistory(context.store, listCellSubjects(context.store, cellId));
}
