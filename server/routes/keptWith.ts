import type { Context } from '../context.ts';
import type { HistoryEntry } from '../contract/cells.ts';
import type { AttachmentSubject } from '../store/attachments.ts';
import { addNote } from '../use-cases/register/addNote.ts';
import { readAttachments } from '../use-cases/register/readAttachments.ts';
import { readCellHistory } from '../use-cases/register/readCellHistory.ts';
import { readStackHistory } from '../use-cases/stacks/readStackHistory.ts';
import { defineRoute, type Route } from './route.ts';

interface Keeper {
  readonly name: 'cell' | 'stack';
  readonly subjectOf: (id: number) => AttachmentSubject;
  readonly readHistory: (context: Context, id: number) => Promise<HistoryEntry[]>;
}

/** What is kept with a cell and a stack alike: its history, notes and pictures. */
function keptWith({ name, subjectOf, readHistory }: Keeper): Route[] {
  return [
    defineRoute(`GET /${name}s/{id}/history`, {
      role: 'reader',
      handle: async ({ context, params }) => ({ items: await readHistory(context, params.id) }),
    }),
    defineRoute(`GET /${name}s/{id}/notes`, {
      role: 'reader',
      handle: async ({ context, params }) => ({
        items: await readAttachments(context, subjectOf(params.id)),
      }),
    }),
    defineRoute(`POST /${name}s/{id}/notes`, {
      role: 'operator',
      handle: async ({ context, params, body }) => ({
        items: await addNote(context, subjectOf(params.id), body.text),
      }),
    }),
  ];
}

export const keptWithRoutes: readonly Route[] = [
  ...keptWith({
    name: 'cell',
    subjectOf: (cellId) => ({ cellId }),
    readHistory: readCellHistory,
  }),
  ...keptWith({
    name: 'stack',
    subjectOf: (stackId) => ({ stackId }),
    readHistory: readStackHistory,
  }),
];
