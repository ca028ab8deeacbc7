import type { ChargeNote } from '../../../server/contract/chargeStudy.ts';
import { en } from './en/index.ts';
import { say } from './i18n.ts';
import { sentenceWords } from './sentences.ts';

const isNote = (code: string): code is keyof typeof en.studyNotes => Object.hasOwn(en.studyNotes, code);

/** A note for the reader: in English the words of the service, which have the numbers; else those of its code. */
export interface NoteWords {
  readonly text: string;
  /** The exact words where `text` is in another language, with the numbers in them. */
  readonly exact: string | null;
}

/** Notes in the reader's language; what is said of several cells is said once, with their names. */
export function noteWords(notes: readonly ChargeNote[]): NoteWords[] {
  const found = new Map<string, { cells: string[]; exact: string[] }>();
  for (const { code, message } of notes) {
    const [, cell, rest] = /^([^\s:]+(?:, [^\s:]+)*): (.+)$/.exec(message) ?? [];
    // In another language the service's own sentence counts where it has words, because it holds the numbers.
    const own = sentenceWords(rest ?? message);
    const said = own ?? (isNote(code) ? say(`studyNotes.${code}`) : (rest ?? message));
    const entry = found.get(said) ?? { cells: [], exact: [] };
    if (cell !== undefined) entry.cells.push(cell);
    if (own === null) entry.exact.push(message);
    found.set(said, entry);
  }
  return [...found].map(([said, { cells, exact }]) => ({
    text: cells.length === 0 ? said : `${cells.join(', ')}: ${said}`,
    exact: exact.length === 0 ? null : exact.join(' '),
  }));
}
