import type { ImportReport } from '../../../server/contract/import.ts';

/** What became of a file that was offered. */
export const importWords: Readonly<Record<ImportReport['state'], string>> = {
  taken: 'imported',
  refused: 'refused',
  undone: 'import undone',
};
