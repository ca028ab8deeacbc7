import type { Context } from '../context.ts';
import { attachmentList, createNote, type HistoryEntry, history } from '../contract/cells.ts';
import { idParameter } from '../contract/common.ts';
import type { AttachmentSubject } from '../store/attachments.ts';
import { addNote } from '../use-cases/register/addNote.ts';
import { readAttachments } from '../use-cases/register/readAttachments.ts';
import { readCellHistory } from '../use-cases/register/readCellHistory.ts';
import { readStackHistory } from '../use-cases/stacks/readStackHistory.ts';
import { defineRoute, type Route } from './route.ts';

interface Keeper {
  readonly name: 'cell' | 'stack';
  readonly tag: string;
  readonly subjectOf: (id: number) => AttachmentSubject;
  readonly readHistory: (context: Context, id: number) => Promise<HistoryEntry[]>;
}

/** What is kept with a cell and a stack alike: its history, notes and pictures. */
function keptWith({ name, tag, subjectOf, readHistory }: Keeper): Route[] {
  return [
    defineRoute({
      method: 'get',
      path: `/${name}s/{id}/history`,
      tag,
      summary: `Everything that happened to a ${name}, newest first`,
      role: 'reader',
      params: idParameter,
      answer: history,
      handle: async ({ context, params }) => ({ items: await readHistory(context, params.id) }),
    }),
    defineRoute({
      method: 'get',
      path: `/${name}s/{id}/notes`,
      tag,
      summary: `Notes and pictures kept with a ${name}`,
      role: 'reader',
      params: idParameter,
      answer: attachmentList,
      handle: async ({ context, params }) => ({
        items: await readAttachments(context, subjectOf(params.id)),
      }),
    }),
    defineRoute({
      method: 'post',
      path: `/${name}s/{id}/notes`,
      tag,
      summary: `Keep a note with a ${name}`,
      role: 'operator',
      params: idParameter,
      body: createNote,
      answer: attachmentList,
      status: 201,
      idempotent: true,
      handle: async ({ context, params, body }) => ({
        items: await addNote(context, subjectOf(params.id), body.text),
      }),
    }),
  ];
}

export const keptWithRoutes: readonly Route[] = [
  ...keptWith({
    name: 'cell',
    tag: 'Cells',
    subjectOf: (cellId) => ({ cellId }),
    readHistory: readCellHistory,
  }),
  ...keptWith({
    name: 'stack',
    tag: 'Stacks',
    subjectOf: (stackId) => ({ stackId }),
    readHistory: readStackHistory,
  }),
];
