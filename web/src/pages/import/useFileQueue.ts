import { useQueryClient } from '@tanstack/react-query';
import { useCallback, useEffect, useRef, useState } from 'react';
import type { ImportOptions, ImportPreview, ImportReport } from '../../../../server/contract/import.ts';
import type { Job } from '../../../../server/contract/jobs.ts';
import { newIdempotencyKey } from '../../api/ApiClient.ts';
import { RequestError, UnreachableError } from '../../api/problems.ts';
import { followJob } from '../../api/useJob.ts';
import { forget } from '../../api/useRequest.ts';
import { say } from '../../words/i18n.ts';
import { importFile, previewFile } from './importApi.ts';
import { dropFiles, type KeptFile, keepFiles, readKeptFiles } from './keptFiles.ts';
import { sameShape, withChange, withReading } from './sharedReading.ts';

export interface QueuedFile extends KeptFile {
  readonly preview: ImportPreview | null;
  readonly state:
    | 'looking'
    | 'ready'
    | 'incomplete'
    | 'sending'
    | 'waiting-for-server'
    | 'working'
    | 'taken'
    | 'refused'
    | 'failed';
  readonly job: Job | null;
  readonly report: ImportReport | null;
  readonly error: RequestError | null;
}

export interface FileQueue {
  readonly files: readonly QueuedFile[];
  readonly busy: boolean;
  readonly add: (files: readonly File[], options: ImportOptions) => void;
  readonly remove: (key: string) => void;
  /** Changes one file; how it is read holds for every waiting file with the same columns. */
  readonly change: (key: string, options: ImportOptions) => void;
  /** Changes what is said once for all waiting files. */
  readonly changeAll: (before: ImportOptions, after: ImportOptions) => void;
  /** Sends what is ready; `said` is what was last said of all files, `common` what is said of them now. */
  readonly importAll: (said: ImportOptions, common: ImportOptions) => Promise<void>;
  readonly clear: () => void;
}

type Patch = (key: string, change: Partial<QueuedFile>) => void;

/**
 * The files waiting on the import page: each is looked at first, and sent one after the other when asked. The list
 * survives a reload of the page, and what was being sent goes on.
 */
export function useFileQueue(): FileQueue {
  const [files, setFiles] = useState<readonly QueuedFile[]>([]);
  const [busy, setBusy] = useState(false);
  const latest = useRef(files);
  latest.current = files;
  const sending = useRef(false);
  const client = useQueryClient();
  const patch: Patch = useCallback((key, change) => {
    setFiles((all) => all.map((f) => (f.key === key ? { ...f, ...change } : f)));
  }, []);
  const sendAll = useCallback(
    async (entries: readonly KeptFile[]) => {
      if (sending.current || entries.length === 0) return;
      sending.current = true;
      setBusy(true);
      for (const entry of entries) await send(entry, patch);
      sending.current = false;
      setBusy(false);
      await forget(client, '/');
    },
    [client, patch],
  );
  useEffect(() => {
    void readKeptFiles().then((kept) => {
      const known = new Set(latest.current.map((f) => f.key));
      const back = kept.filter((f) => !known.has(f.key)).map(asQueued);
      if (back.length === 0) return;
      setFiles((all) => [...back, ...all]);
      for (const entry of back.filter((f) => f.sent === null)) void look(entry, patch);
      void sendAll(back.filter((f) => f.sent !== null));
    });
  }, [patch, sendAll]);
  const add = useCallback(
    (added: readonly File[], options: ImportOptions) => {
      const now = Date.now();
      const kept = added.map((file, i) => newEntry(file, options, now + i / 1000));
      void keepFiles(kept);
      const entries = kept.map(asQueued);
      setFiles((all) => [...all, ...entries]);
      for (const entry of entries) void look(entry, patch);
    },
    [patch],
  );
  const change = useCallback(
    (key: string, options: ImportOptions) => {
      const entry = latest.current.find((f) => f.key === key);
      if (entry === undefined) return;
      lookAgain(latest.current, patch, (f) => {
        if (f.key === key) return options;
        return sameShape(f.preview, entry.preview) ? withReading(f, entry.options, options) : f.options;
      });
    },
    [patch],
  );
  const changeAll = useCallback(
    (before: ImportOptions, after: ImportOptions) =>
      lookAgain(latest.current, patch, (f) => withChange(f.options, before, after)),
    [patch],
  );
  const importAll = useCallback(
    async (said: ImportOptions, common: ImportOptions) => {
      if (sending.current) return;
      const batch = newIdempotencyKey();
      const entries = latest.current
        .filter((f) => f.state === 'ready')
        .map((f) => ({ ...f, options: withChange(f.options, said, common) }))
        .map((f) => ({ ...keptOf(f), sent: { options: optionsFor(f, common), batch } }));
      // Kept before the first is sent, so that a page that is reloaded in the middle goes on with the rest.
      await keepFiles(entries);
      await sendAll(entries);
    },
    [sendAll],
  );
  const remove = useCallback((key: string) => {
    void dropFiles([key]);
    setFiles((all) => all.filter((f) => f.key !== key));
  }, []);
  const clear = useCallback(() => {
    void dropFiles(latest.current.map((f) => f.key));
    setFiles([]);
  }, []);
  return { files, busy, add, remove, change, changeAll, importAll, clear };
}

const newEntry = (file: File, options: ImportOptions, addedAt: number): KeptFile => ({
  key: newIdempotencyKey(),
  file,
  options,
  addedAt,
  sent: null,
});

const keptOf = ({ key, file, options, addedAt, sent }: KeptFile): KeptFile => ({
  key,
  file,
  options,
  addedAt,
  sent,
});

const asQueued = (kept: KeptFile): QueuedFile => ({
  ...kept,
  preview: null,
  state: kept.sent === null ? 'looking' : 'sending',
  job: null,
  report: null,
  error: null,
});

/** Previews the waiting files whose options change once more. */
function lookAgain(
  files: readonly QueuedFile[],
  patch: Patch,
  optionsOf: (file: QueuedFile) => ImportOptions,
): void {
  const changed = files.flatMap((file) => {
    const options = file.sent === null ? optionsOf(file) : file.options;
    return options === file.options ? [] : [{ ...file, options }];
  });
  if (changed.length === 0) return;
  void keepFiles(changed.map(keptOf));
  for (const entry of changed) void look(entry, patch);
}

/** How often each file was looked at: an answer to an earlier look does not count once there is a later one. */
const looks = new Map<string, number>();

async function look({ key, file, options }: KeptFile, patchAny: Patch): Promise<void> {
  const mine = (looks.get(key) ?? 0) + 1;
  looks.set(key, mine);
  const patch: Patch = (of, change) => {
    if (looks.get(key) === mine) patchAny(of, change);
  };
  patch(key, { state: 'looking', options, error: null });
  try {
    const preview = await untilServed(key, patch, () => previewFile(file, options));
    patch(key, { state: foundState(preview, options), preview });
  } catch (error) {
    patch(key, { state: 'failed', error: asRequestError(error) });
  }
}

/** Ready is what the import will take: a file that names no cell, and whose serial nobody has entered, it would refuse. */
function foundState({ refusal, kind, creates }: ImportPreview, options: ImportOptions): QueuedFile['state'] {
  if (refusal !== null) return 'refused';
  if ((options.kind ?? kind) === 'stack-log') return 'ready';
  const holds = creates.tests > 0 || creates.measurements > 0;
  return holds && creates.cells.length === 0 ? 'incomplete' : 'ready';
}

/** A table of cells or cycles names its cells in its rows, and a stack log has its stack: serial and kind of test are not for them. */
function optionsFor({ preview, options }: QueuedFile, common: ImportOptions): ImportOptions {
  const all = { ...common, ...options };
  const kind = all.kind ?? preview?.kind ?? 'record';
  if (kind !== 'cell-table' && kind !== 'cycle-table' && kind !== 'stack-log') return all;
  const { namePattern: _, cell: __, testKind: ___, ...ofTable } = all;
  // A serial that was entered for this table alone is that of a table without a column of serials.
  const own = options.cell === undefined || options.cell === common.cell ? {} : { cell: options.cell };
  if (kind !== 'stack-log') return { ...ofTable, ...own };
  const { startSoc: ____, ...ofLog } = ofTable;
  return ofLog;
}

async function send({ key, file, sent }: KeptFile, patch: Patch): Promise<void> {
  if (sent === null) return;
  patch(key, { state: 'sending', error: null });
  try {
    const started = await untilServed(key, patch, () => importFile(file, sent.options, sent.batch, key));
    patch(key, { state: 'working', job: started });
    const job = await followJob(started.id, (next) => patch(key, { job: next }));
    const report = (job.kind === 'import' ? job.result?.reports[0] : undefined) ?? null;
    const state =
      job.state !== 'done' || report === null ? 'failed' : report.state === 'taken' ? 'taken' : 'refused';
    patch(key, { state, job, report });
  } catch (error) {
    patch(key, { state: 'failed', error: asRequestError(error) });
  }
  await dropFiles([key]);
}

const askAgainMs = 3_000;

/** Repeats what got no answer until the server is there again: a key makes it be done once. */
async function untilServed<T>(key: string, patch: Patch, work: () => Promise<T>): Promise<T> {
  for (;;) {
    try {
      return await work();
    } catch (error) {
      if (!(error instanceof UnreachableError)) throw error;
      patch(key, { state: 'waiting-for-server' });
      await new Promise((resolve) => setTimeout(resolve, askAgainMs));
    }
  }
}

function asRequestError(error: unknown): RequestError {
  if (error instanceof RequestError) return error;
  return new RequestError({
    type: 'about:blank',
    title: say('import.theFileCouldNotBeRead'),
    status: 0,
    detail: error instanceof Error ? error.message : String(error),
    code: 'unreadable',
  });
}
