import { idParameter } from '../contract/common.ts';
import {
  createExport as createBody,
  exportEntry,
  exportPage,
  exportQuery,
  parameterSetParameters,
} from '../contract/exports.ts';
import { job } from '../contract/jobs.ts';
import { parameterOrigin, parameterSet } from '../contract/parameterSet.ts';
import { notFound } from '../errors.ts';
import { putJob } from '../jobs/queue.ts';
import { findExport, pageExports, readExportData } from '../store/exports.ts';
import { recordExport } from '../use-cases/exports/createExport.ts';
import { writeExport } from '../use-cases/exports/writeExport.ts';
import { readParameters } from '../use-cases/parameters/readParameters.ts';
import { defineRawRoute, defineRoute, type Route } from './route.ts';

const tag = 'Exports';

/** A file name for the header of a download: an ASCII form and, after RFC 6266, the name itself. */
export function contentDisposition(fileName: string): string {
  const ascii = fileName.replace(/[^\x20-\x7e]|["\\]/g, '_');
  const encoded = encodeURIComponent(fileName).replace(
    /['()*]/g,
    (c) => `%${c.charCodeAt(0).toString(16).toUpperCase()}`,
  );
  return `attachment; filename="${ascii}"; filename*=UTF-8''${encoded}`;
}

export const exportRoutes: readonly Route[] = [
  defineRoute({
    method: 'get',
    path: '/exports',
    tag,
    summary: 'What was handed out, newest first',
    role: 'reader',
    query: exportQuery,
    answer: exportPage,
    handle: async ({ context, query }) => pageExports(context.store, query),
  }),
  defineRoute({
    method: 'post',
    path: '/exports',
    tag,
    summary: 'Write parameters, a record or a planned charge in a format of another tool, and record it',
    role: 'reader',
    body: createBody,
    answer: exportEntry,
    status: 201,
    idempotent: true,
    prepare: async ({ context, body }) => writeExport(context, body),
    handle: async ({ context, body }, written) => recordExport(context, body, written),
  }),
  defineRoute({
    method: 'post',
    path: '/exports/background',
    tag,
    summary: 'The same as a job, for a lot or a record that takes long; its result names the export',
    role: 'operator',
    body: createBody,
    answer: job,
    status: 202,
    idempotent: true,
    handle: async ({ context, body }) => putJob(context, 'export', body),
  }),
  defineRoute({
    method: 'get',
    path: '/exports/{id}',
    tag,
    summary: 'Who had what written when, and the hash of its bytes',
    role: 'reader',
    params: idParameter,
    answer: exportEntry,
    handle: async ({ context, params }) => {
      const found = await findExport(context.store, params.id);
      if (!found) throw notFound('export', params.id);
      return found;
    },
  }),
  defineRawRoute({
    method: 'get',
    path: '/exports/{id}/file',
    tag,
    summary: 'The bytes of an export',
    role: 'reader',
    params: idParameter,
    gives: 'application/octet-stream',
    handleRaw: async ({ context, params }, request, response) => {
      const entry = await findExport(context.store, params.id);
      const data = entry === null ? null : await readExportData(context.store, params.id);
      if (entry === null || data === null) throw notFound('export', params.id);
      response
        .status(200)
        .set('Content-Disposition', contentDisposition(entry.fileName))
        .set('ETag', `"${entry.sha256}"`)
        .set('X-Content-Type-Options', 'nosniff')
        .type(entry.mediaType);
      if (request.fresh) response.status(304).end();
      else response.send(data);
    },
  }),
  defineRoute({
    method: 'get',
    path: '/parameter-sets/{kind}/{id}',
    tag,
    summary:
      'The parameter set of a cell, pair, stack, lot, pairing or cell type, as an export would hold it now',
    role: 'reader',
    params: parameterSetParameters,
    answer: parameterSet,
    handle: async ({ context, params }) => readParameters(context, params.kind, params.id),
  }),
  defineRoute({
    method: 'get',
    path: '/parameter-sets/{kind}/{id}/origin',
    tag,
    summary: 'Where the numbers of a parameter set came from: fits, tests, files with their hashes',
    role: 'reader',
    params: parameterSetParameters,
    answer: parameterOrigin,
    handle: async ({ context, params }) => {
      const { subject, cautions, provenance } = await readParameters(context, params.kind, params.id);
      return { subject, cautions, provenance };
    },
  }),
];
