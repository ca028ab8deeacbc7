import { csvField, numberText } from './csv.ts';
import { ExportRefused } from './refusal.ts';

/** The sample series of a test as it was stored: columns of equal length with a name and a unit. */
export interface ExportRecord {
  readonly testId: number;
  readonly label: string;
  readonly cell: string;
  readonly columns: readonly {
    readonly name: string;
    readonly unit: string;
    readonly values: Float64Array;
  }[];
}

const unitNames: Readonly<Record<string, string>> = { Cel: 'C', 'A.h': 'Ah', 'W.h': 'Wh', '1': '' };

/** The name of a column in a file, e.g. `voltage_V`: the quantity and its unit. */
export function recordColumnName(column: { name: string; unit: string }): string {
  const unit = unitNames[column.unit] ?? column.unit;
  return unit === '' || column.name.endsWith(`_${unit}`) ? column.name : `${column.name}_${unit}`;
}

/** The names of a record's columns in a file, each once. */
export function recordColumnNames(record: ExportRecord): string[] {
  const taken = new Set<string>();
  return record.columns.map((column) => {
    const base = recordColumnName(column);
    let name = base;
    for (let n = 2; taken.has(name); n++) name = `${base}_${n}`;
    taken.add(name);
    return name;
  });
}

/** @throws ExportRefused where the record has no rows or no columns. */
export function checkRecord(record: ExportRecord): number {
  const rowCount = record.columns[0]?.values.length ?? 0;
  if (rowCount === 0)
    throw new ExportRefused('no-record', `test ${record.testId}: record`, null, 'the test has no samples');
  return rowCount;
}

/** A missing sample is kept as NaN inside and never written as such. */
function valueText(value: number): string {
  return Number.isNaN(value) ? '' : numberText(value);
}

/** Rows turned to text at a time: keeps strings short whatever the length of the record. */
const rowsPerPart = 65_536;

/**
 * The record as CSV (RFC 4180, UTF-8) in parts of {@link rowsPerPart} rows, so that whoever writes a long one can do other
 * things between them. Every number reads back to the same float64; a missing one is an empty field.
 */
export function* recordCsvParts(record: ExportRecord): Generator<Buffer> {
  const rowCount = checkRecord(record);
  yield Buffer.from(`${recordColumnNames(record).map(csvField).join(',')}\r\n`);
  const columns = record.columns.map((column) => column.values);
  for (let start = 0; start < rowCount; start += rowsPerPart) {
    const end = Math.min(rowCount, start + rowsPerPart);
    let text = '';
    for (let row = start; row < end; row++) {
      for (let c = 0; c < columns.length; c++) text += `${c === 0 ? '' : ','}${valueText(columns[c][row])}`;
      text += '\r\n';
    }
    yield Buffer.from(text);
  }
}

/** The whole record as CSV. */
export function recordCsv(record: ExportRecord): Uint8Array {
  return Buffer.concat([...recordCsvParts(record)]);
}
