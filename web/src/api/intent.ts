/** Two clicks within this time after the answer to the first are one double click. */
const doubleClickMs = 700;

/** How it ended; lost: no answer came, so that nobody knows whether it was done. */
export type IntentEnd = 'done' | 'refused' | 'lost';

/**
 * What a person meant with the last presses of one button: which input, under which key, and whether it was answered.
 * Says whether another press is the same intention; a press with another input never is.
 */
export class Intent {
  readonly #newKey: () => string;
  readonly #running = new Set<string>();
  #last: {
    readonly text: string;
    readonly key: string;
    readonly end: IntentEnd;
    readonly atMs: number;
  } | null = null;

  constructor(newKey: () => string) {
    this.#newKey = newKey;
  }

  /** True while the action runs with this input, and shortly after it was done. */
  isSecondClick(input: unknown, nowMs: number): boolean {
    const text = textOf(input);
    if (this.#running.has(text)) return true;
    const last = this.#last;
    return last !== null && last.end === 'done' && last.text === text && nowMs - last.atMs < doubleClickMs;
  }

  /** The attempt that begins; it has the key of the last one where the same input got no answer, or else a new one. */
  begin(input: unknown): Attempt {
    const text = textOf(input);
    const repeats = this.#last?.end === 'lost' && this.#last.text === text;
    const key = repeats ? this.#last!.key : this.#newKey();
    this.#running.add(text);
    return { text, key };
  }

  end({ text, key }: Attempt, end: IntentEnd, atMs: number): void {
    this.#running.delete(text);
    this.#last = { text, key, end, atMs };
  }
}

/** One try: what it was asked with, and its Idempotency-Key. */
interface Attempt {
  readonly text: string;
  readonly key: string;
}

function textOf(input: unknown): string {
  return JSON.stringify(input) ?? '';
}
