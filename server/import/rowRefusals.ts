import type { TextDecoder } from 'node:util';
import { isGroupOrDecimal, isMissingText, splitFields } from './fields.ts';
import type { RecordPlan } from './recordPlan.ts';
import { RefusedFile } from './refusedFile.ts';

/** The refusals of single rows and fields. `row` is the line in the file. */
export class RowRefusals {
  private readonly plan: RecordPlan;
  private readonly decoder: TextDecoder;

  constructor(plan: RecordPlan, decoder: TextDecoder) {
    this.plan = plan;
    this.decoder = decoder;
  }

  /** A field without a number; an empty field and one without a finite number are distinguished. */
  notANumber(row: number, field: number, text: string): RefusedFile {
    const column = this.plan.header[field];
    if (/^[+-]?(nan|inf|infinity)$/i.test(text)) return this.notFinite(row, field, text);
    if (text === '') {
      return new RefusedFile({
        code: 'missing-value',
        row,
        column,
        value: '',
        reason: 'The field is empty',
        expected: `Every row needs a number here${this.wayOut(field)}`,
      });
    }
    const mark = this.plan.dialect.decimal === ',' ? 'comma' : 'point';
    return new RefusedFile({
      code: 'not-a-number',
      row,
      column,
      value: text,
      reason: 'This is not a number',
      expected: isGroupOrDecimal(text)
        ? `The decimal mark of this file is the ${mark}, and the other mark here could be one too: write the number without groups of digits`
        : isNoReading(text)
          ? `The instrument wrote no reading here: take the row out${this.wayOut(field)}`
          : `Write plain decimal numbers; the decimal mark of this file is the ${mark}${this.wayOut(field)}`,
    });
  }

  /** What can be done besides mending the file. */
  private wayOut(field: number): string {
    return this.isTemperature(field) ? '; to leave the column out say --columns temperature=none' : '';
  }

  /** A field that is not a time in the format of the first rows. */
  notATime(row: number, field: number, text: string): RefusedFile {
    if (text === '') return this.notANumber(row, field, text);
    return new RefusedFile({
      code: 'not-a-number',
      row,
      column: this.plan.header[field],
      value: text,
      reason: 'This is not a time as the first rows of the file write theirs',
      expected:
        'Write every time alike; where day and month are the other way round, say so with --date-order',
    });
  }

  private isTemperature(field: number): boolean {
    return this.plan.numbers.some(({ mapping }) => mapping.index === field && mapping.role === 'temperature');
  }

  notFinite(row: number, field: number, text: string): RefusedFile {
    return new RefusedFile({
      code: 'not-finite',
      row,
      column: this.plan.header[field],
      value: text,
      reason: 'The number is not finite',
      expected: 'Every row needs a finite number here',
    });
  }

  tooLongField(row: number, field: number, beginning: Uint8Array): RefusedFile {
    return new RefusedFile({
      code: 'field-too-long',
      row,
      column: this.plan.header[field],
      value: this.decoder.decode(beginning),
      reason: 'The field is longer than 400 bytes',
      expected: 'Write the number with at most 400 characters',
    });
  }

  unclosedQuote(row: number): RefusedFile {
    return new RefusedFile({
      code: 'unclosed-quote',
      row,
      reason: 'A quoted field does not end in its line',
      expected: 'Close the quote in the same line',
    });
  }

  /**
   * @param missingField the first field that is not there, or null where there are too many
   * @param line the beginning of the row
   */
  fieldCount(row: number, missingField: number | null, line: Uint8Array): RefusedFile {
    const text = this.decoder.decode(line);
    const { header, dialect } = this.plan;
    const have = splitFields(text, dialect.delimiter).length;
    const short = missingField !== null && have < header.length;
    return new RefusedFile({
      code: 'field-count',
      row,
      column: short ? header[missingField] || null : null,
      value: text,
      reason: short
        ? `The row has ${have} fields where the header has ${header.length}; the file may be cut off`
        : `The row has other than the ${header.length} fields of the header`,
      expected: `Every row needs ${header.length} fields`,
    });
  }
}

/** What instruments write where a reading is out of range or not there. */
function isNoReading(text: string): boolean {
  return isMissingText(text) || /^[<>]?(over|under|ovf|ovld?|ol|overflow|overload|overrange|#+)$/i.test(text);
}
