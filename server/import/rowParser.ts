import { TextDecoder } from 'node:util';
import type { RowBlock } from '../store/chunks/rowBlock.ts';
import type { Encoding } from './dialect.ts';
import { isMissingText, parseNumber, splitFields } from './fields.ts';
import type { PlausibleLimits } from './limits.ts';
import type { RecordPlan } from './recordPlan.ts';
import { RefusedFile } from './refusedFile.ts';
import { RowRefusals } from './rowRefusals.ts';
import { RunChecks } from './runChecks.ts';
import { parseTimeText } from './timeText.ts';

/** Where the rows of a file go. Runs are numbered in the order of their first row. */
export interface RunSink {
  /**
   * A run begins: its key values (cell, run, cycle), by column, and its first line and data row, both 1-based.
   * `originS` is the first time stamp as the file writes it: seconds since 1970 where it writes instants.
   */
  begin(run: number, key: readonly KeyValue[], firstLine: number, firstRow: number, originS: number): void;
  /** Rows `from` to `to` of a run, columns in the order of the plan's numbers. Valid only during the call. */
  rows(run: number, block: RowBlock, from: number, to: number): void;
}

export interface KeyValue {
  readonly column: string;
  readonly value: string;
}

const newline = 10;
const carriageReturn = 13;
const minus = 45;
const zero = 48;
/** Rows gathered before they are checked and handed on: four columns fit a core's second-level cache. */
const stride = 2048;
/** Digits that fit a 32-bit integer whatever they are. */
const fastDigits = 9;
const skipped = -1;
const powersOfTen = Float64Array.from({ length: 23 }, (_, i) => Number(`1e${i}`));

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
  private readonly plan: RecordPlan;
  private readonly checks: RunChecks;
  private readonly delimiter: number;
  private readonly point: number;
  private readonly decoder: TextDecoder;
  private readonly refusals: RowRefusals;
  /** By field of a line: place among the plan's numbers, `skipped`, or -2 - k for the k-th key. */
  private readonly slots: Int32Array;
  /** By number column: the unit as a power of ten to divide by, and as a factor. */
  private readonly exponent: Int32Array;
  private readonly multiply: Float64Array;
  /** By number column: decimals of the gathered rows, -1 where they differ or a value went the slow way. */
  private readonly decimals: Int32Array;
  private readonly integers: Int32Array;
  private readonly values: Float64Array;
  private readonly block: RowBlock;
  private readonly keyBytes: Uint8Array[];
  private readonly keyTexts: string[];
  /** Longest time that is read the quick way: none where times are written as clocks or instants. */
  private readonly timeDigits: number;
  private keyChanged = false;
  private filled = 0;
  private gatheredLine = 0;
  private gatheredRow = 0;
  private bytes: Uint8Array = new Uint8Array(0);
  /** End of the field that the slow way read last. */
  private slowEnd = 0;

  constructor(
    plan: RecordPlan,
    limits: PlausibleLimits,
    encoding: Encoding,
    sink: RunSink,
    linesBefore: number,
  ) {
    this.plan = plan;
    this.line = linesBefore;
    this.checks = new RunChecks(plan, limits, sink);
    this.delimiter = plan.dialect.delimiter.charCodeAt(0);
    this.point = plan.dialect.decimal.charCodeAt(0);
    this.decoder = new TextDecoder(encoding);
    this.refusals = new RowRefusals(plan, this.decoder);
    this.timeDigits = plan.timeFormat === 'number' ? fastDigits : 0;
    this.slots = new Int32Array(plan.header.length).fill(skipped);
    plan.numbers.forEach((column, k) => {
      this.slots[column.mapping.index] = k;
    });
    plan.keys.forEach((key, k) => {
      this.slots[key.index] = -2 - k;
    });
    this.multiply = Float64Array.from(plan.numbers, (column) => column.unit?.multiply ?? 1);
    this.exponent = Int32Array.from(plan.numbers, (column) =>
      Math.round(Math.log10(column.unit?.divide ?? 1)),
    );
    this.values = new Float64Array(plan.numbers.length * stride);
    this.integers = new Int32Array(plan.numbers.length * stride);
    this.decimals = new Int32Array(plan.numbers.length);
    this.block = { stride, values: this.values, integers: this.integers, decimals: this.decimals };
    this.keyBytes = plan.keys.map(() => new Uint8Array([0]));
    this.keyTexts = plan.keys.map(() => '');
  }

  /**
   * Parses the lines in `bytes[start, end)`; the last one ends with a line feed. One long function, because a call for
   * each row or field would take a good part of the time that reading it takes.
   */
  parse(bytes: Uint8Array, start: number, end: number): void {
    this.bytes = bytes;
    const { slots, values, integers, decimals, delimiter, timeDigits } = this;
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
              if (decimals[slot] >= 0) this.divide(slot, filled);
              values[slot * stride + filled] = this.quotient(
                slot,
                negative ? -mantissa : mantissa,
                places,
                negative,
              );
            }
            at = next;
          } else {
            if (filled === 0) decimals[slot] = -1;
            else if (decimals[slot] >= 0) this.divide(slot, filled);
            values[slot * stride + filled] = this.slowNumber(at, field, slot);
            at = this.slowEnd;
          }
        } else {
          at = slot === skipped ? this.skipField(at) : this.keyField(at, -2 - slot);
        }
        if (field < fields - 1) {
          if (bytes[at] !== delimiter) throw this.wrongFieldCount(rowStart, field + 1);
          at++;
        }
      }
      at = bytes[at] === newline ? at + 1 : this.endRow(rowStart, at);
      if (this.keyChanged) {
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

  private quotient(slot: number, integer: number, places: number, negative: boolean): number {
    const value = (integer * this.multiply[slot]) / powersOfTen[places + this.exponent[slot]];
    return negative && value === 0 ? -0 : value;
  }

  /** Turns the integers of a column into values; from then on its values are made one by one. */
  private divide(slot: number, count: number): void {
    const { values, integers } = this;
    const factor = this.multiply[slot];
    const divisor = powersOfTen[this.decimals[slot] + this.exponent[slot]];
    const start = slot * stride;
    if (factor === 1) for (let i = start; i < start + count; i++) values[i] = integers[i] / divisor;
    else for (let i = start; i < start + count; i++) values[i] = (integers[i] * factor) / divisor;
    this.decimals[slot] = -1;
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
    const before = this.keyBytes[key];
    const { bytes } = this;
    let same = before.length === end - from;
    for (let i = from; same && i < end; i++) same = bytes[i] === before[i - from];
    if (!same) {
      this.keyBytes[key] = bytes.slice(from, end);
      this.keyTexts[key] = splitFields(this.decoder.decode(this.keyBytes[key]), '\n')[0];
      this.keyChanged = true;
    }
    return end;
  }

  /** The present row belongs to another run than the rows gathered before it. */
  private beginRun(): void {
    this.keyChanged = false;
    const moved = this.filled;
    if (moved > 0) {
      const decimals = this.decimals.slice();
      this.flush();
      for (let k = 0; k < this.plan.numbers.length; k++) {
        this.decimals[k] = decimals[k];
        this.values[k * stride] = this.values[k * stride + moved];
        this.integers[k * stride] = this.integers[k * stride + moved];
      }
    }
    const key = this.plan.keys.map((column, k) => ({ column: column.source, value: this.keyTexts[k] }));
    this.checks.enter(key);
  }

  private flush(): void {
    if (this.filled === 0) return;
    const count = this.filled;
    this.filled = 0;
    for (let slot = 0; slot < this.decimals.length; slot++) {
      const places = this.decimals[slot];
      if (places < 0) continue;
      this.divide(slot, count);
      const unit = this.plan.numbers[slot].unit;
      if (this.multiply[slot] === 1 && (unit?.add ?? 0) === 0)
        this.decimals[slot] = places + this.exponent[slot];
    }
    this.checks.take(this.block, count, this.gatheredLine, this.gatheredRow);
  }

  private wrongFieldCount(start: number, missingField: number | null): RefusedFile {
    let end = start;
    while (this.bytes[end] !== newline) end++;
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
    const column = this.plan.numbers[slot];
    if (end - from > 400)
      throw this.refusals.tooLongField(this.line + 1, field, this.bytes.subarray(from, from + 100));
    const raw = this.decoder.decode(this.bytes.subarray(from, end));
    const text = raw.includes('"') ? splitFields(raw, '\n')[0] : raw.trim();
    if (slot === 0 && this.plan.timeFormat !== 'number') {
      const seconds = parseTimeText(text, this.plan.timeFormat);
      if (seconds !== null) return seconds;
      throw this.refusals.notANumber(this.line + 1, field, text);
    }
    const value = parseNumber(text, this.plan.dialect.decimal);
    if (value === null) {
      if (isMissingText(text) && !column.required) return Number.NaN;
      throw this.refusals.notANumber(this.line + 1, field, text);
    }
    if (!Number.isFinite(value)) throw this.refusals.notFinite(this.line + 1, field, text);
    const unit = column.unit;
    if (unit === null) return value;
    // A power of ten is appended to the text, so that the result is still the float64 nearest to what was written.
    const scaled =
      unit.divide === 1 || /[eE]/.test(text)
        ? value / unit.divide
        : Number(`${text.replace(',', '.')}e-${Math.round(Math.log10(unit.divide))}`);
    return scaled * unit.multiply;
  }
}
