import type { ImportReport } from '../../../server/contract/import.ts';
import { say } from './i18n.ts';

/** What became of a file that was offered. */
export const importWords: Readonly<Record<ImportReport['state'], string>> = {
  taken: say('words.imported'),
  refused: 'refused',
  undone: say('words.importUndone'),
};
