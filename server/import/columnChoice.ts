import { type ColumnRole, columnRoles, isColumnRole, stackLogRoles } from '../contract/columnRoles.ts';
import { RefusedFile } from './refusedFile.ts';

/**
 * Header names by role: by {@link columnRoles}, or by quantity with its condition for the columns of a table of results.
 * `null` says that the file has no such column, so none is proposed.
 */
export type ColumnChoice = { readonly [role in ColumnRole]?: string | null } & {
  readonly [quantity: string]: string | null | undefined;
};

/** Units by role, as text (`mA`, `h`), where the header does not tell or tells wrongly. */
export type UnitChoice = { readonly [role in ColumnRole]?: string } & {
  readonly [quantity: string]: string | undefined;
};

/**
 * Reads `time=Test Time,voltage=U,current=I,temperature=none` (the `--columns` and `--units` options).
 * A name that holds a comma is put in double quotes.
 *
 * @throws RangeError naming the part that cannot be read.
 */
export function parseChoice(text: string): Record<string, string | null> {
  const choice: Record<string, string | null> = {};
  for (const part of text.match(/(?:[^,"]|"[^"]*")+/g) ?? []) {
    const at = part.indexOf('=');
    const role = part.slice(0, at).trim().toLowerCase();
    if (at < 0 || !isColumnRole(role)) {
      throw new RangeError(
        `"${part.trim()}" is not a column choice; write ROLE=NAME with one of ${columnRoles.join(', ')}, or a quantity of a table such as capacity, resistance/10s, impedance-1khz, ocv, self-discharge, as role; in a stack log ${stackLogRoles.join(', ')}, cell-voltage-1, cell-temperature-1`,
      );
    }
    const name = part
      .slice(at + 1)
      .trim()
      .replace(/^"(.*)"$/, '$1');
    if (name === '')
      throw new RangeError(`"${part.trim()}" names no column; write ${role}=NAME or ${role}=none`);
    choice[role] = name.toLowerCase() === 'none' ? null : name;
  }
  return choice;
}

/** Index of a header name: exactly, else without regard to case and blanks. Also `column 3`. */
export function findColumn(header: readonly string[], name: string): number {
  const exact = header.indexOf(name);
  if (exact >= 0) return exact;
  const plain = (text: string): string => text.toLowerCase().replace(/\s+/g, '');
  const alike = header.findIndex((column) => plain(column) === plain(name));
  if (alike >= 0) return alike;
  const numbered = /^column (\d+)$/i.exec(name);
  return numbered !== null && Number(numbered[1]) >= 1 && Number(numbered[1]) <= header.length
    ? Number(numbered[1]) - 1
    : -1;
}

/** As {@link findColumn}, refusing the file where the column is not there. */
export function requireColumn(header: readonly string[], name: string, headerLine: number | null): number {
  const at = findColumn(header, name);
  if (at >= 0) return at;
  throw new RefusedFile({
    code: 'unknown-column',
    row: headerLine,
    column: name,
    reason: 'The file has no such column',
    expected: `Its columns are ${header.map((column) => `"${column}"`).join(', ')}`,
  });
}
