import { notFound } from '../errors.ts';
import { compactParameters } from '../export/compactParameters.ts';
import { putJob } from '../jobs/queue.ts';
import { findExport, pageExports, readExportData } from '../store/exports.ts';
import { recordExport } from '../use-cases/exports/createExport.ts';
import { writeExport } from '../use-cases/exports/writeExport.ts';
import { readParameters } from '../use-cases/parameters/readParameters.ts';
import { defineRawRoute, defineRoute, type Route } from './route.ts';

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
  defineRoute('GET /exports', {
    role: 'reader',
    handle: async ({ context, query }) => pageExports(context.store, query),
  }),
  defineRoute('POST /exports', {
    role: 'reader',
    prepare: async ({ context, body }) => writeExport(context, body),
    handle: async ({ context, body }, written) => recordExport(context, body, written),
  }),
  defineRoute('POST /exports/background', {
    role: 'operator',
    handle: async ({ context, body }) => putJob(context, 'export', body),
  }),
  defineRoute('GET /exports/{id}', {
    role: 'reader',
    handle: async ({ context, params }) => {
      const found = await findExport(context.store, params.id);
      if (!found) throw notFound('export', params.id);
      return found;
    },
  }),
  defineRawRoute('GET /exports/{id}/file', {
    role: 'reader',
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
  defineRoute('GET /parameter-sets/{kind}/{id}', {
    role: 'reader',
    handle: async ({ context, params, query }) => {
      const set = await readParameters(context, params.kind, params.id);
      return query.form === 'compact' ? compactParameters(set) : set;
    },
  }),
  defineRoute('GET /parameter-sets/{kind}/{id}/origin', {
    role: 'reader',
    handle: async ({ context, params }) => {
      const { subject, cautions, provenance } = await readParameters(context, params.kind, params.id);
      return { subject, cautions, provenance };
    },
  }),
];
