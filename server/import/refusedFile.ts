/** Why a file was refused. The set is closed; pages and programs may rely on the words. */
export const refusalCodes = [
  'ages-start-again',
  'ambiguous-date',
  'ambiguous-column',
  'binary-content',
  'cells-swapped',
  'corrupt-compression',
  'cut-off',
  'current-sign',
  'duplicate-column',
  'duplicate-file',
  'empty-file',
  'expands-too-far',
  'field-count',
  'field-too-long',
  'gap-under-load',
  'impossible-pulse',
  'impossible-current',
  'impossible-efficiency',
  'impossible-frequency',
  'impossible-impedance',
  'impossible-soc',
  'impossible-temperature',
  'impossible-voltage',
  'line-ends',
  'line-too-long',
  'missing-cell',
  'missing-column',
  'missing-stack',
  'missing-value',
  'no-charge',
  'no-rows',
  'not-a-number',
  'not-finite',
  'option-does-not-apply',
  'several-runs',
  'runs-not-continuous',
  'time-backwards',
  'too-few-rows',
  'too-many-columns',
  'totals-contradict',
  'too-many-rows',
  'too-many-runs',
  'unclosed-quote',
  'unknown-column',
  'unknown-format',
  'unknown-kind',
  'unknown-run',
  'unknown-sheet',
  'unknown-unit',
  'unreadable-file',
  'wrong-encoding',
  'wrong-serial',
] as const;

export type RefusalCode = (typeof refusalCodes)[number];

/** Where and why, and what would be right. A missing place is null. */
export interface Refusal {
  readonly code: RefusalCode;
  /** Line of the file as an editor counts it, 1 for the first. */
  readonly row: number | null;
  /** Header name of the column. */
  readonly column: string | null;
  /** The offending text, shortened to 80 characters. */
  readonly value: string | null;
  readonly reason: string;
  readonly expected: string;
}

/** Thrown by every reader here when a file cannot be taken. Carries {@link Refusal} for programs, a sentence for people. */
export class RefusedFile extends Error {
  readonly refusal: Refusal;

  constructor(refusal: Partial<Refusal> & Pick<Refusal, 'code' | 'reason' | 'expected'>) {
    const full: Refusal = {
      code: refusal.code,
      row: refusal.row ?? null,
      column: refusal.column ?? null,
      value: refusal.value == null ? null : shorten(refusal.value),
      reason: refusal.reason,
      expected: refusal.expected,
    };
    super(refusalSentence(full));
    this.name = 'RefusedFile';
    this.refusal = full;
  }
}

/** One sentence: place, reason, what would be right. */
export function refusalSentence(refusal: Omit<Refusal, 'code'>): string {
  const place = [
    refusal.row === null ? '' : `row ${refusal.row}`,
    refusal.column === null ? '' : `column "${refusal.column}"`,
    refusal.value === null ? '' : `value "${refusal.value}"`,
  ].filter((part) => part !== '');
  return `${place.length > 0 ? `${place.join(', ')}: ` : ''}${refusal.reason}. ${refusal.expected}.`;
}

/** Control characters made visible and long texts cut, so that a report stays readable. */
export function shorten(text: string, limit = 80): string {
  let visible = '';
  for (const character of text.slice(0, limit + 1)) {
    const code = character.codePointAt(0) as number;
    visible += code < 32 || code === 127 ? `\\x${code.toString(16).padStart(2, '0')}` : character;
  }
  return visible.length > limit ? `${visible.slice(0, limit - 1)}…` : visible;
}
