import type { TextDecoder } from 'node:util';
import { splitFields } from './fields.ts';
import type { RecordPlan } from './recordPlan.ts';
import type { KeyValue } from './runSink.ts';

/** The key fields (cell, run, cycle) of the row read last. They are compared as bytes, since they seldom change. */
export class RowKeys {
  /** Whether a key of the present row differs from the row before; whoever has seen to it puts it back. */
  changed = false;
  private readonly columns: RecordPlan['keys'];
  private readonly decoder: TextDecoder;
  private readonly bytes: Uint8Array[];
  private readonly texts: string[];

  constructor(columns: RecordPlan['keys'], decoder: TextDecoder) {
    this.columns = columns;
    this.decoder = decoder;
    // A byte that no field holds, so that the first row begins a run.
    this.bytes = columns.map(() => new Uint8Array([0]));
    this.texts = columns.map(() => '');
  }

  /** Takes key `k` of a row from `bytes[from, end)`. */
  take(k: number, bytes: Uint8Array, from: number, end: number): void {
    const before = this.bytes[k];
    let same = before.length === end - from;
    for (let i = from; same && i < end; i++) same = bytes[i] === before[i - from];
    if (same) return;
    this.bytes[k] = bytes.slice(from, end);
    this.texts[k] = splitFields(this.decoder.decode(this.bytes[k]), '\n')[0];
    this.changed = true;
  }

  values(): KeyValue[] {
    return this.columns.map((column, k) => ({ column: column.source, value: this.texts[k] }));
  }
}
