import { randomUUID } from 'node:crypto';
import type { Request, Response } from 'express';
import type { z } from 'zod';
import type { Context } from '../context.ts';
import type { ImportOptions } from '../contract/import.ts';
import { importOptions, type uploadQuery } from '../contract/import.ts';
import { fieldError, notFound, Refusal } from '../errors.ts';
import { answerBesideServing } from '../jobs/besideServing.ts';
import { putJob } from '../jobs/queue.ts';
import { findImport, pageImports } from '../store/sourceFiles.ts';
import { hasMoreValuesThan } from '../store/undoneFiles.ts';
import type { FilesToImport } from '../use-cases/imports/importFiles.ts';
import { lotOfImport } from '../use-cases/imports/lotOfImport.ts';
import { previewImport } from '../use-cases/imports/previewImport.ts';
import { readImportConsequences } from '../use-cases/imports/readImportConsequences.ts';
import { restoreImport } from '../use-cases/imports/restoreImport.ts';
import { undoImport } from '../use-cases/imports/undoImport.ts';
import { sentenceOf, wrongFields } from '../wrongFields.ts';
import { doOnce, findEarlierAnswer, readKeyedRequest } from './idempotency.ts';
import { publicJob } from './publicJob.ts';
import { readBeginning } from './readBeginning.ts';
import { receiveUpload, removeReceived } from './receiveUpload.ts';
import { defineRawRoute, defineRoute, type Route } from './route.ts';

export const importRoutes: readonly Route[] = [
  defineRoute('GET /imports', {
    role: 'reader',
    handle: async ({ context, query }) => pageImports(context.store, query),
  }),
  defineRoute('GET /imports/{id}', {
    role: 'reader',
    handle: async ({ context, params }) => {
      const found = await findImport(context.store, params.id);
      if (found === null) throw notFound('import', params.id);
      return found;
    },
  }),
  defineRawRoute('POST /imports', {
    role: 'operator',
    handleRaw: async ({ context, query }, request, response) => takeUpload(context, query, request, response),
  }),
  defineRawRoute('POST /imports/preview', {
    role: 'operator',
    handleRaw: async ({ context, query }, request, response) => {
      const options = optionsOf(query, request.get('X-Import-Options'), null);
      const { bytes, whole } = await readBeginning(request);
      const name = fileNameOf(query, request) ?? 'upload.csv';
      response.json(await previewImport(context, name, bytes, whole, options));
    },
  }),
  defineRoute('GET /imports/{id}/consequences', {
    role: 'reader',
    handle: async ({ context, params: { id } }) =>
      (await isLarge(context, id))
        ? answerBesideServing(context, 'import-consequences', id)
        : readImportConsequences(context, id),
  }),
  defineRoute('POST /imports/{id}/restore', {
    role: 'operator',
    handle: async ({ context, params: { id } }) =>
      (await isLarge(context, id))
        ? answerBesideServing(context, 'restore-import', id)
        : restoreImport(context, id),
  }),
  defineRoute('POST /imports/{id}/undo', {
    role: 'operator',
    handle: async ({ context, params: { id } }) =>
      (await isLarge(context, id))
        ? answerBesideServing(context, 'undo-import', id)
        : undoImport(context, id),
  }),
];

/** So many values are undone in no more time than other requests take. */
const fewValues = 1000;

function isLarge({ store }: Context, fileId: number): Promise<boolean> {
  return hasMoreValuesThan(store, fileId, fewValues);
}

type UploadQuery = z.output<typeof uploadQuery>;

async function takeUpload(
  context: Context,
  query: UploadQuery,
  request: Request,
  response: Response,
): Promise<void> {
  const header = request.get('X-Import-Options');
  const early = optionsOf(query, header, null);
  const upload = await receiveUpload(context, request, fileNameOf(query, request));
  let ordering = false;
  try {
    // The files are part of what was asked: the key with other bytes is another request.
    const keyed = readKeyedRequest(context, request, '/imports', [
      header ?? '',
      upload.options ?? '',
      upload.files.map(({ name, hash }) => [name, hash]),
    ]);
    const earlier = keyed && (await findEarlierAnswer(context, keyed));
    if (earlier) {
      await removeReceived(context.store, upload.files);
      response.status(earlier.status).type('application/json').send(earlier.text);
      return;
    }
    const options = upload.options === null ? early : optionsOf(query, header, upload.options);
    await lotOfImport(context.store, options);
    const input: FilesToImport = {
      batch: request.get('X-Import-Batch')?.slice(0, 100) ?? randomUUID(),
      files: upload.files.map(({ name, kept }) => ({
        name,
        ...('path' in kept ? { ...kept, temporary: true } : kept),
      })),
      options,
    };
    ordering = true;
    let own = '';
    const order = async (given: Context) => {
      own = JSON.stringify(publicJob(await putJob(given, 'import', input)));
      return own;
    };
    const sent = keyed
      ? await doOnce(context, keyed, 202, order)
      : { status: 202, text: await order(context) };
    // Another request with the key came first; its job reads its own files.
    if (sent.text !== own) await removeReceived(context.store, upload.files);
    response.status(sent.status).type('application/json').send(sent.text);
  } catch (error) {
    // Where the connection broke, the job may be there in spite of it and needs its files; if not, a later start removes them.
    if (!ordering || error instanceof Refusal) await removeReceived(context.store, upload.files);
    throw error;
  }
}

/** Options from the address, the header and the form, the later ones outranking the earlier. */
function optionsOf(query: UploadQuery, header: string | undefined, field: string | null): ImportOptions {
  const { name: _name, ...simple } = query;
  const given = {
    ...simple,
    ...readJson('X-Import-Options', header === undefined ? null : safeDecode(header)),
    ...readJson('options', field),
  };
  const parsed = importOptions.safeParse(given);
  if (parsed.success) return parsed.data;
  const places = wrongFields(parsed.error, given, 'options', importOptions);
  throw new Refusal(
    'invalid-request',
    `The options of the import cannot be used: ${sentenceOf(places)}`,
    places,
  );
}

function readJson(field: string, text: string | null): Record<string, unknown> {
  if (text === null || text === '') return {};
  try {
    const value: unknown = JSON.parse(text);
    if (typeof value === 'object' && value !== null && !Array.isArray(value))
      return value as Record<string, unknown>;
  } catch {
    // Reported below, together with JSON that is not an object.
  }
  throw new Refusal('invalid-request', `${field} is not a JSON object.`, [
    fieldError(field, text, 'is not a JSON object', 'for example {"lot": "L-1"}'),
  ]);
}

function safeDecode(text: string): string {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}

function fileNameOf(query: UploadQuery, request: Request): string | undefined {
  const header = request.get('X-File-Name');
  return query.name ?? (header === undefined ? undefined : safeDecode(header).slice(0, 300));
}
