import { TextDecoder } from 'node:util';
import { GatheredRows, stride } from './gatheredRows.ts';
import type { PlausibleLimits } from './limits.ts';
import { type HeadLines, PassedLines, passedOver } from './passedLines.ts';
import type { RecordPlan } from './recordPlan.ts';
import { RefusedFile } from './refusedFile.ts';
import { RowKeys } from './rowKeys.ts';
import { RowRefusals } from './rowRefusals.ts';
import { RunChecks } from './runChecks.ts';
import type { RunSink } from './runSink.ts';
import { SlowNumbers } from './slowNumbers.ts';
import { StatedSigns } from './statedSigns.ts';

const newline = 10;
const carriageReturn = 13;
const minus = 45;
const zero = 48;
/** Digits that fit a 32-bit integer whatever they are. */
const fastDigits = 9;
const skipped = -1;
const stated = -1000;

/**
 * Parses blocks of whole lines into columns of float64 without making a string per field.
 *
 * A field of up to nine digits is read as an integer m with f decimals, and its value is m / 10^f. Both are exact in
 * float64 and the division is rounded once, so the result is the float64 nearest to the text, which is what `Number()`
 * gives (W. D. Clinger, "How to read floating point numbers accurately", PLDI 1990, section on the exact case). A unit
 * that is a power of ten only changes f; minutes and hours multiply m, which stays exact. Everything else (more digits,
 * exponents, quotes, blanks, words) takes the slow way through text and `Number()`.
 */
export class RowParser {
  /** Data rows parsed so far. */
  rowCount = 0;
  /** Lines passed so far, header and blank ones included. */
  line: number;
  private readonly checks: RunChecks;
  private readonly delimiter: number;
  private readonly point: number;
  private readonly refusals: RowRefusals;
  /** By field of a line: place among the plan's numbers, `skipped`, or -2 - k for the k-th key. */
  private readonly slots: Int32Array;
  private readonly gathered: GatheredRows;
  private readonly slowNumbers: SlowNumbers;
  private readonly keys: RowKeys;
  private readonly signs: StatedSigns;
  private readonly passed = new PassedLines();
  private readonly head: HeadLines;
  private readonly decoder: TextDecoder;
  /** Whether every row begins with a number or a time. */
  private readonly numberFirst: boolean;
  /** First bytes of the header and the units row; -1 for none. */
  private readonly headFirst: readonly number[];
  /** Longest time that is read the quick way: none where times are written as clocks or instants. */
  private readonly timeDigits: number;
  private filled = 0;
  private gatheredLine = 0;
  private gatheredRow = 0;
  private bytes: Uint8Array = new Uint8Array(0);
  /** End of the field that the slow way read last. */
  private slowEnd = 0;

  constructor(
    plan: RecordPlan,
    limits: PlausibleLimits,
    encoding: 'utf-8' | 'windows-1252',
    sink: RunSink,
    linesBefore: number,
  ) {
    this.line = linesBefore;
    this.checks = new RunChecks(plan, limits, sink);
    this.delimiter = plan.dialect.delimiter.charCodeAt(0);
    this.point = plan.dialect.decimal.charCodeAt(0);
    const decoder = new TextDecoder(encoding);
    this.decoder = decoder;
    this.refusals = new RowRefusals(plan, decoder);
    this.timeDigits = plan.timeFormat === 'number' ? fastDigits : 0;
    this.slots = new Int32Array(plan.header.length).fill(skipped);
    plan.numbers.forEach((column, k) => {
      this.slots[column.mapping.index] = k;
    });
    plan.keys.forEach((key, k) => {
      this.slots[key.index] = -2 - k;
    });
    this.gathered = new GatheredRows(plan.numbers);
    this.keys = new RowKeys(plan.keys, decoder);
    this.signs = new StatedSigns(plan, decoder);
    if (plan.stateColumn !== null) this.slots[plan.stateColumn.index] = stated;
    this.slowNumbers = new SlowNumbers(plan, decoder, this.refusals);
    this.numberFirst = this.slots[0] >= 0;
    this.head = plan.headLines;
    this.headFirst = [firstByte(this.head.header), firstByte(this.head.units)];
  }

  /**
   * Parses the lines in `bytes[start, end)`; the last one ends with a line feed. One long function, because a call for
   * each row or field would take a good part of the time that reading it takes.
   */
  parse(bytes: Uint8Array, start: number, end: number): void {
    this.bytes = bytes;
    const { slots, gathered, keys, delimiter, timeDigits } = this;
    const { values, integers, decimals } = gathered;
    const point = this.point - zero;
    const fields = slots.length;
    let { filled } = this;
    let at = start;
    while (at < end) {
      const first = bytes[at];
      if (first === newline || first === carriageReturn) {
        at = this.blankLine(at);
        filled = 0;
        continue;
      }
      if ((first - zero) >>> 0 > 9 && first !== minus && this.isPassedOver(first, at)) {
        at = this.passLine(at);
        filled = 0;
        continue;
      }
      const rowStart = at;
      for (let field = 0; field < fields; field++) {
        const slot = slots[field];
        if (slot >= 0) {
          let byte = bytes[at];
          const negative = byte === minus;
          let next = negative ? at + 1 : at;
          const firstDigit = next;
          let mantissa = 0;
          let digit = bytes[next] - zero;
          while (digit >>> 0 <= 9) {
            mantissa = (digit + ((mantissa + (mantissa << 2)) << 1)) | 0;
            digit = bytes[++next] - zero;
          }
          let digits = next - firstDigit;
          let places = 0;
          if (digit === point) {
            const firstDecimal = next + 1;
            next++;
            digit = bytes[next] - zero;
            while (digit >>> 0 <= 9) {
              mantissa = (digit + ((mantissa + (mantissa << 2)) << 1)) | 0;
              digit = bytes[++next] - zero;
            }
            places = next - firstDecimal;
            digits += places;
          }
          byte = bytes[next];
          if (
            digits > 0 &&
            digits <= (slot === 0 ? timeDigits : fastDigits) &&
            (byte === delimiter || byte === newline || byte === carriageReturn)
          ) {
            // The division waits until a whole column is there, unless the decimals change on the way.
            if (filled === 0) decimals[slot] = places;
            if (decimals[slot] === places && !(negative && mantissa === 0)) {
              integers[slot * stride + filled] = negative ? -mantissa : mantissa;
            } else {
              if (decimals[slot] >= 0) gathered.divide(slot, filled);
              values[slot * stride + filled] = gathered.quotient(
                slot,
                negative ? -mantissa : mantissa,
                places,
                negative,
              );
            }
            at = next;
          } else {
            if (filled === 0) decimals[slot] = -1;
            else if (decimals[slot] >= 0) gathered.divide(slot, filled);
            values[slot * stride + filled] = this.slowNumber(at, field, slot);
            at = this.slowEnd;
          }
        } else {
          at =
            slot === skipped
              ? this.skipField(at)
              : slot === stated
                ? this.stateField(at, filled)
                : this.keyField(at, -2 - slot);
        }
        if (field < fields - 1) {
          if (bytes[at] !== delimiter) throw this.wrongFieldCount(rowStart, field + 1);
          at++;
        }
      }
      at = bytes[at] === newline ? at + 1 : this.endRow(rowStart, at);
      if (keys.changed) {
        this.beginRun();
        filled = 0;
      }
      if (filled === 0) {
        this.gatheredLine = this.line + 1;
        this.gatheredRow = this.rowCount + 1;
      }
      this.line++;
      this.rowCount++;
      this.filled = ++filled;
      if (filled === stride) {
        this.flush();
        filled = 0;
      }
    }
  }

  /** Hands on what is left. Call after the last block. */
  finish(): void {
    this.flush();
    if (this.rowCount === 0) {
      throw new RefusedFile({
        code: 'no-rows',
        row: this.line,
        reason: 'The file has a header but no rows',
        expected: 'A record needs at least one row of numbers',
      });
    }
  }

  /** Passes the line end; empty fields after the last column are let through. */
  private endRow(start: number, from: number): number {
    const { bytes, delimiter } = this;
    let at = from;
    while (bytes[at] === delimiter || bytes[at] === 32 || bytes[at] === 9) at++;
    if (bytes[at] === carriageReturn && bytes[at + 1] === newline) at++;
    if (bytes[at] === newline) return at + 1;
    throw this.wrongFieldCount(start, null);
  }

  private blankLine(from: number): number {
    const { bytes } = this;
    let at = from;
    while (bytes[at] === carriageReturn) at++;
    if (bytes[at] !== newline) throw this.wrongFieldCount(from, null);
    // What is gathered is handed on first, so that the n-th gathered row always is the n-th line.
    this.flush();
    this.line++;
    return at + 1;
  }

  /** Whether the line at `from` is a remark or repeats the header. The first byte decides for nearly every row. */
  private isPassedOver(first: number, from: number): boolean {
    const suspicious =
      first === 35 || first === 37 || first === 47 || first === 34 || first === 32 || first === 9;
    if (!suspicious && first !== this.headFirst[0] && first !== this.headFirst[1]) return false;
    const line = this.decoder.decode(this.bytes.subarray(from, this.lineEnd(from))).replace(/\r$/, '');
    const what = passedOver(line, this.head, this.numberFirst);
    if (what !== null) this.passed.note(what, this.line + 1);
    return what !== null;
  }

  private lineEnd(from: number): number {
    let end = from;
    while (this.bytes[end] !== newline) end++;
    return end;
  }

  private passLine(from: number): number {
    this.flush();
    this.line++;
    return this.lineEnd(from) + 1;
  }

  private skipField(from: number): number {
    const { bytes, delimiter } = this;
    let at = from;
    let byte = bytes[at];
    while (byte !== delimiter && byte !== newline && byte !== carriageReturn) {
      if (byte === 34) return this.fieldEnd(from);
      byte = bytes[++at];
    }
    return at;
  }

  /** End of a field that may be quoted. */
  private fieldEnd(from: number): number {
    const { bytes, delimiter } = this;
    let at = from;
    let quoted = false;
    for (;;) {
      const byte = bytes[at];
      if (byte === newline) {
        if (quoted) throw this.refusals.unclosedQuote(this.line + 1);
        return at;
      }
      if (byte === 34) quoted = !quoted;
      else if (!quoted && (byte === delimiter || byte === carriageReturn)) return at;
      at++;
    }
  }

  private keyField(from: number, key: number): number {
    const end = this.skipField(from);
    this.keys.take(key, this.bytes, from, end);
    return end;
  }

  private stateField(from: number, row: number): number {
    const end = this.skipField(from);
    this.signs.take(row, this.bytes, from, end);
    return end;
  }

  /** What was done about the rows that the reader of the file should know. */
  remarks(): string[] {
    return [...this.signs.remarks(), ...this.passed.remarks()];
  }

  /** The present row belongs to another run than the rows gathered before it. */
  private beginRun(): void {
    this.keys.changed = false;
    const moved = this.filled;
    if (moved > 0) {
      const decimals = this.gathered.decimals.slice();
      this.flush();
      this.gathered.keep(moved, decimals);
      this.signs.keep(moved);
    }
    this.checks.enter(this.keys.values());
  }

  private flush(): void {
    if (this.filled === 0) return;
    const count = this.filled;
    this.filled = 0;
    this.gathered.settle(count);
    this.signs.apply(this.gathered, count);
    this.checks.take(this.gathered.block, count, this.gatheredLine, this.gatheredRow);
  }

  private wrongFieldCount(start: number, missingField: number | null): RefusedFile {
    const end = this.lineEnd(start);
    return this.refusals.fieldCount(
      this.line + 1,
      missingField,
      this.bytes.subarray(start, Math.min(end, start + 200)),
    );
  }

  /** A field off the beaten track, as text. Leaves its end in `slowEnd`. */
  private slowNumber(from: number, field: number, slot: number): number {
    const end = this.fieldEnd(from);
    this.slowEnd = end;
    return this.slowNumbers.read(this.bytes.subarray(from, end), this.line + 1, field, slot);
  }
}

/** The byte that a line of these fields begins with; -1 for none. */
function firstByte(fields: readonly string[]): number {
  return fields.length === 0 || fields[0] === '' ? -1 : Buffer.from(fields[0])[0];
}
