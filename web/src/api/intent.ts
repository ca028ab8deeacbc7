/** Two clicks within this time after the answer to the first are one double click. */
const doubleClickMs = 700;

/** How it ended; lost: no answer came, so that nobody knows whether it was done. */
export type IntentEnd = 'done' | 'refused' | 'lost';

/**
 * What a person meant with the last press of one button: which input, under which key, and whether it was answered. Says
 * whether another press is the same intention.
 */
export class Intent {
  readonly #newKey: () => string;
  #last: {
    readonly text: string;
    readonly key: string;
    state: 'running' | IntentEnd;
    endedAt: number;
  } | null = null;

  constructor(newKey: () => string) {
    this.#newKey = newKey;
  }

  /** True while the action runs, and for the same input shortly after it was done. */
  isSecondClick(input: unknown, nowMs: number): boolean {
    const last = this.#last;
    if (last === null || last.state === 'lost' || last.state === 'refused') return false;
    if (last.state === 'running') return true;
    return last.text === textOf(input) && nowMs - last.endedAt < doubleClickMs;
  }

  /** The key of the attempt that begins: that of the last one where the same input got no answer, or else a new one. */
  begin(input: unknown): string {
    const text = textOf(input);
    const repeats = this.#last?.state === 'lost' && this.#last.text === text;
    const key = repeats ? this.#last!.key : this.#newKey();
    this.#last = { text, key, state: 'running', endedAt: 0 };
    return key;
  }

  end(as: IntentEnd, nowMs: number): void {
    if (this.#last === null) return;
    this.#last.state = as;
    this.#last.endedAt = nowMs;
  }
}

function textOf(input: unknown): string {
  return JSON.stringify(input) ?? '';
}
