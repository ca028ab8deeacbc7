import type { ImportOptions, ImportPreview } from '../../../../server/contract/import.ts';
import type { Job } from '../../../../server/contract/jobs.ts';
import { api } from '../../api/ApiClient.ts';

/** How much of a file is enough to see what it is. */
const previewBytes = 4 * 1024 * 1024;

/** What an import would make of the file, without making it; of a long file only its beginning is sent. */
export function previewFile(
  file: File,
  options: ImportOptions,
  signal?: AbortSignal,
): Promise<ImportPreview> {
  return api.post('/imports/preview', {
    // Spreadsheets and Parquet files can only be read whole.
    raw:
      file.size > previewBytes && !/\.(xlsx|parquet)$/i.test(file.name) ? file.slice(0, previewBytes) : file,
    rawType: 'text/csv',
    headers: fileHeaders(file, options),
    ...(signal === undefined ? {} : { signal }),
  });
}

/** Sends a file and gives the job that takes it; sent again under the same key, it is taken once. */
export function importFile(file: File, options: ImportOptions, batch: string, key: string): Promise<Job> {
  return api.post('/imports', {
    raw: file,
    rawType: 'text/csv',
    headers: { ...fileHeaders(file, options), 'x-import-batch': batch },
    idempotencyKey: key,
  });
}

function fileHeaders(file: File, options: ImportOptions): Record<string, string> {
  return {
    'x-file-name': encodeURIComponent(file.name),
    'x-import-options': encodeURIComponent(JSON.stringify(options)),
  };
}
