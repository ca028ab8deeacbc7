import type { TextDecoder } from 'node:util';
import { type GatheredRows, stride } from './gatheredRows.ts';
import type { RecordPlan } from './recordPlan.ts';
import { currentSignOf } from './stateColumn.ts';

/**
 * Turns the current of rows whose column of words states the other direction: a file may hold the amount of the current
 * and say in words whether it charges. Rows that agree, and rows at rest, are left as they are.
 */
export class StatedSigns {
  private readonly states = new Int8Array(stride);
  private readonly source: string | null;
  private readonly currentAt: number;
  private readonly decoder: TextDecoder;
  private readonly known = new Map<string, -1 | 0 | 1>();
  private turned = 0;

  constructor(plan: RecordPlan, decoder: TextDecoder) {
    this.source = plan.stateColumn?.source ?? null;
    this.currentAt = plan.numbers.findIndex(({ mapping }) => mapping.role === 'current');
    this.decoder = decoder;
  }

  /** Takes the word of a gathered row. */
  take(row: number, bytes: Uint8Array, from: number, to: number): void {
    const word = this.decoder.decode(bytes.subarray(from, to));
    let sign = this.known.get(word);
    if (sign === undefined) {
      sign = currentSignOf(word.replace(/^"(.*)"$/, '$1')) ?? 0;
      this.known.set(word, sign);
    }
    this.states[row] = sign;
  }

  /** The row at a place becomes the first one. */
  keep(row: number): void {
    this.states[0] = this.states[row];
  }

  /** Turns the currents of the first `count` gathered rows that contradict their words. */
  apply({ values, integers }: Pick<GatheredRows, 'values' | 'integers'>, count: number): void {
    if (this.source === null || this.currentAt < 0) return;
    const at = this.currentAt * stride;
    for (let row = 0; row < count; row++) {
      if (this.states[row] * values[at + row] >= 0) continue;
      values[at + row] = -values[at + row];
      integers[at + row] = -integers[at + row];
      this.turned++;
    }
  }

  remarks(): string[] {
    if (this.turned === 0) return [];
    return [
      `current: the sign of ${this.turned} rows was taken from column "${this.source}", which states charge or discharge`,
    ];
  }
}
