import type { TextDecoder } from 'node:util';
import { isMissingText, parseNumber, plainNumberText, splitFields } from './fields.ts';
import type { RecordPlan } from './recordPlan.ts';
import type { RowRefusals } from './rowRefusals.ts';
import { parseTimeText, secondsOfSerial } from './timeText.ts';

/** Longest field in bytes that is read as a number. */
const longestField = 400;

/** Reads the number fields off the beaten track as text: more digits, exponents, quotes, blanks, words, clock times. */
export class SlowNumbers {
  private readonly plan: RecordPlan;
  private readonly decoder: TextDecoder;
  private readonly refusals: RowRefusals;

  constructor(plan: RecordPlan, decoder: TextDecoder, refusals: RowRefusals) {
    this.plan = plan;
    this.decoder = decoder;
    this.refusals = refusals;
  }

  /**
   * The number in the bytes of one field, in the unit its column is kept in.
   *
   * @param line the line in the file, for a refusal
   * @param field place of the field in the line
   * @param slot place of its column among the plan's numbers; 0 is the time
   * @returns NaN for a missing value in a column that allows it
   * @throws RefusedFile naming line, column and value
   */
  read(bytes: Uint8Array, line: number, field: number, slot: number): number {
    const column = this.plan.numbers[slot];
    if (bytes.length > longestField) throw this.refusals.tooLongField(line, field, bytes.subarray(0, 100));
    const raw = this.decoder.decode(bytes);
    const text = raw.includes('"') ? splitFields(raw, '\n')[0] : raw.trim();
    const { plan } = this;
    const format =
      slot === 0
        ? plan.timeFormat
        : slot === plan.join?.dateAt || slot === plan.dayAt
          ? plan.dateFormat
          : 'number';
    if (format === 'day-serial') {
      const days = parseNumber(text, plan.dialect.decimal);
      if (days !== null && Number.isFinite(days)) return secondsOfSerial(days);
      throw this.refusals.notANumber(line, field, text);
    }
    if (format !== 'number') {
      const seconds = parseTimeText(slot === plan.dayAt ? `${text} 0:00` : text, format);
      if (seconds !== null) return seconds;
      throw this.refusals.notATime(line, field, text);
    }
    const plain = plainNumberText(text, plan.dialect.decimal);
    if (plain === null) {
      if (isMissingText(text) && !column.required) return Number.NaN;
      throw this.refusals.notANumber(line, field, text);
    }
    const value = Number(plain);
    if (!Number.isFinite(value)) throw this.refusals.notFinite(line, field, text);
    const unit = column.unit;
    if (unit === null) return value;
    // A power of ten is appended to the text, so that the result is still the float64 nearest to what was written.
    const scaled =
      unit.divide === 1 || /[eE]/.test(plain)
        ? value / unit.divide
        : Number(`${plain}e-${Math.round(Math.log10(unit.divide))}`);
    return scaled * unit.multiply;
  }
}
