import { readFileSync } from 'node:fs';

/** A plain comma-separated table (no quoting) as header and rows of text, for the shared data sets. */
export function readCsv(path: string): { header: string[]; rows: string[][] } {
  const [header, ...rows] = readFileSync(path, 'utf8').trim().split(/\r?\n/);
  return { header: header.split(','), rows: rows.map((row) => row.split(',')) };
}

/** The rows of a table gathered by the text of some of its columns, in order of first appearance. */
export function groupRows(rows: readonly string[][], ...columns: number[]): Map<string, string[][]> {
  const groups = new Map<string, string[][]>();
  for (const row of rows) {
    const key = columns.map((column) => row[column]).join('/');
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [row]);
    else group.push(row);
  }
  return groups;
}

/** One column of rows as numbers. */
export function numbers(rows: readonly string[][], column: number): Float64Array {
  return Float64Array.from(rows, (row) => Number(row[column]));
}
