import { useQueryClient } from '@tanstack/react-query';
import { useCallback, useRef, useState } from 'react';
import type { ImportOptions, ImportPreview, ImportReport } from '../../../../server/contract/import.ts';
import type { Job } from '../../../../server/contract/jobs.ts';
import { newIdempotencyKey } from '../../api/ApiClient.ts';
import { RequestError } from '../../api/problems.ts';
import { followJob } from '../../api/useJob.ts';
import { forget } from '../../api/useRequest.ts';
import { type ImportAnswer, importFile, previewFile } from './importApi.ts';

export interface QueuedFile {
  readonly key: string;
  readonly file: File;
  readonly options: ImportOptions;
  readonly preview: ImportPreview | null;
  readonly state: 'looking' | 'ready' | 'sending' | 'working' | 'taken' | 'refused' | 'failed';
  readonly job: Job | null;
  readonly report: ImportReport | null;
  readonly error: RequestError | null;
}

export interface FileQueue {
  readonly files: readonly QueuedFile[];
  readonly busy: boolean;
  readonly add: (files: readonly File[], options: ImportOptions) => void;
  readonly remove: (key: string) => void;
  readonly change: (key: string, options: ImportOptions) => void;
  readonly importAll: (common: ImportOptions) => Promise<void>;
  readonly clear: () => void;
}

/** The files waiting on the import page: each is looked at first, and sent one after the other when asked. */
export function useFileQueue(): FileQueue {
  const [files, setFiles] = useState<readonly QueuedFile[]>([]);
  const [busy, setBusy] = useState(false);
  const latest = useRef(files);
  latest.current = files;
  const client = useQueryClient();
  const patch = useCallback((key: string, change: Partial<QueuedFile>) => {
    setFiles((all) => all.map((f) => (f.key === key ? { ...f, ...change } : f)));
  }, []);
  const look = useCallback(
    async (key: string, file: File, options: ImportOptions) => {
      patch(key, { state: 'looking', options, error: null });
      try {
        const preview = await previewFile(file, options);
        patch(key, { state: preview.refusal === null ? 'ready' : 'refused', preview });
      } catch (error) {
        patch(key, { state: 'failed', error: asRequestError(error) });
      }
    },
    [patch],
  );
  const add = useCallback(
    (added: readonly File[], options: ImportOptions) => {
      const entries = added.map((file) => newEntry(file, options));
      setFiles((all) => [...all, ...entries]);
      for (const entry of entries) void look(entry.key, entry.file, options);
    },
    [look],
  );
  const change = useCallback(
    (key: string, options: ImportOptions) => {
      const entry = latest.current.find((f) => f.key === key);
      if (entry !== undefined) void look(key, entry.file, options);
    },
    [look],
  );
  const importAll = useCallback(
    async (common: ImportOptions) => {
      setBusy(true);
      const batch = newIdempotencyKey();
      for (const entry of latest.current.filter((f) => f.state === 'ready')) {
        await send(entry, optionsFor(entry, common), batch, patch);
      }
      setBusy(false);
      await forget(client, '/');
    },
    [client, patch],
  );
  const remove = useCallback((key: string) => setFiles((all) => all.filter((f) => f.key !== key)), []);
  const clear = useCallback(() => setFiles([]), []);
  return { files, busy, add, remove, change, importAll, clear };
}

function newEntry(file: File, options: ImportOptions): QueuedFile {
  return {
    key: newIdempotencyKey(),
    file,
    options,
    preview: null,
    state: 'looking',
    job: null,
    report: null,
    error: null,
  };
}

/** A table of cells or cycles names its cells in its rows: name pattern, serial and kind of test are not for it. */
function optionsFor({ preview, options }: QueuedFile, common: ImportOptions): ImportOptions {
  const all = { ...common, ...options };
  const kind = all.kind ?? preview?.kind ?? 'record';
  if (kind !== 'cell-table' && kind !== 'cycle-table') return all;
  const { namePattern: _, cell: __, testKind: ___, ...ofTable } = all;
  return ofTable;
}

async function send(
  entry: QueuedFile,
  options: ImportOptions,
  batch: string,
  patch: (key: string, change: Partial<QueuedFile>) => void,
): Promise<void> {
  patch(entry.key, { state: 'sending' });
  try {
    const started = await importFile(entry.file, options, batch);
    patch(entry.key, { state: 'working', job: started });
    const job = await followJob(started.id, (next) => patch(entry.key, { job: next }));
    const report = (job.result as ImportAnswer | null)?.reports[0] ?? null;
    const state =
      job.state !== 'done' || report === null ? 'failed' : report.state === 'taken' ? 'taken' : 'refused';
    patch(entry.key, { state, job, report });
  } catch (error) {
    patch(entry.key, { state: 'failed', error: asRequestError(error) });
  }
}

function asRequestError(error: unknown): RequestError {
  if (error instanceof RequestError) return error;
  return new RequestError({
    type: 'about:blank',
    title: 'The file could not be read',
    status: 0,
    detail: error instanceof Error ? error.message : String(error),
    code: 'unreadable',
  });
}
