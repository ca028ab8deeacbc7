import type { Context } from '../../context.ts';
import type { ImportOptions } from '../../contract/import.ts';
import type { PlausibleLimits } from '../../import/limits.ts';
import type { RunSummary } from '../../import/runSummary.ts';
import type { Store } from '../../store/store.ts';
import type { nameParts } from './nameParts.ts';
import type { LookedAtRows } from './recordStage.ts';
import type { TakenFile } from './takenFile.ts';

/** What an import needs of a context; a worker thread has no more than this. */
export interface ImportContext {
  readonly store: Store;
  readonly now: Context['now'];
  readonly actor: Pick<Context['actor'], 'name'>;
}

/** What the kinds of files have in common: the file's place in the database, and what its name and options state. */
export interface ImportTarget {
  readonly context: ImportContext;
  readonly options: ImportOptions;
  readonly name: string;
  /** Null only where a preview is asked for without a lot. */
  readonly lotId: number | null;
  /** True for a preview: nothing is stored, and a cell that is not named yet is not an error. */
  readonly looking: boolean;
  readonly limits: Partial<PlausibleLimits>;
  readonly at: string;
  readonly fromName: Awaited<ReturnType<typeof nameParts>>;
  readonly onProgress: (bytesRead: number, rows: number) => void;
}

/** What a kind of file gives out: everything but what is the same for all. */
export type TakenContent = Omit<TakenFile, 'name' | 'lotId' | 'at' | 'by' | 'batch' | 'again'> & {
  /** What a preview shows of the rows of a record, and how its runs go. */
  readonly rows?: LookedAtRows;
  readonly summaries?: readonly RunSummary[];
  /** Undoes what was stored before the file is taken as a whole. */
  readonly drop: () => Promise<void>;
};
