/** A table as rows of texts and numbers, its head first. */
export type TableRows = readonly (readonly (string | number | null)[])[];

/** The table as CSV (RFC 4180), numbers as the table shows them, CRLF. */
export function csvOf(rows: TableRows): string {
  const cell = (value: string | number | null) => {
    const text = value === null ? '' : String(value);
    return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
  };
  return rows.map((row) => `${row.map(cell).join(',')}\r\n`).join('');
}

/** The table as a spreadsheet takes it from the clipboard: tabs between columns. */
export function clipboardText(rows: TableRows): string {
  return rows
    .map((row) => row.map((v) => (v === null ? '' : String(v).replace(/[\t\r\n]+/g, ' '))).join('\t'))
    .join('\n');
}

/** What stands in a drawn table, without what is there only to be pressed. */
export function rowsOfTable(table: HTMLTableElement): TableRows {
  return [...table.rows].map((row) =>
    [...row.cells].map((cell) => {
      const copy = cell.cloneNode(true) as HTMLElement;
      for (const hidden of copy.querySelectorAll('[aria-hidden="true"], .for-readers')) hidden.remove();
      return (copy.textContent ?? '')
        .replace(/\s+/g, ' ')
        .trim()
        .replace(/^−(?=\d)/, '-');
    }),
  );
}
