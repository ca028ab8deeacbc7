import type { ImportOptions, ImportReport } from '../../contract/import.ts';
import type { ByteSource } from '../../import/byteSource.ts';
import type { TableHead } from '../../import/dialect.ts';
import { splitFields } from '../../import/fields.ts';
import { asText } from '../../import/formats/textSource.ts';
import type { RowFilter } from '../../import/keptLines.ts';
import { nameColumns } from '../../import/proposeColumns.ts';
import { serialColumn } from '../../import/recognise/tableConditionColumns.ts';
import { planRecord } from '../../import/recordPlan.ts';
import { type Refusal, RefusedFile } from '../../import/refusedFile.ts';

/** More refused cells than this are a fault of the file, not of its cells. */
const mostRefused = 200;

/**
 * Takes the cells of a file of which every row is right: a row that is refused costs its own cell only. Each time one is
 * found the file is read again without that cell.
 */
export class WholeCells {
  private readonly refused = new Map<string, Refusal>();
  private readonly open: () => Promise<ByteSource>;
  private readonly options: ImportOptions;

  constructor(open: () => Promise<ByteSource>, options: ImportOptions) {
    this.open = open;
    this.options = options;
  }

  /** The rows to read now. */
  filter(head: TableHead): RowFilter | null {
    const at = this.cellAt(head);
    if (at < 0 || this.refused.size === 0) return null;
    return { head, keep: (fields) => !this.refused.has(fields[at] ?? '') };
  }

  /** Notes which cell a refusal belongs to. @returns false where it does not belong to a single cell */
  async note(error: RefusedFile, head: TableHead): Promise<boolean> {
    const { row } = error.refusal;
    const at = this.cellAt(head);
    if (row === null || at < 0 || this.refused.size >= mostRefused) return false;
    const text = await this.line(row);
    const cell = text === null ? '' : (splitFields(text, head.dialect.delimiter)[at] ?? '');
    if (cell === '' || this.refused.has(cell)) return false;
    this.refused.set(cell, error.refusal);
    return true;
  }

  /** What became of each cell of the file, those that were taken first. */
  reports(taken: readonly string[]): ImportReport['cellReports'] {
    return [
      ...taken.map((cell) => ({ cell, state: 'taken' as const, refusal: null })),
      ...[...this.refused].map(([cell, refusal]) => ({ cell, state: 'refused' as const, refusal })),
    ];
  }

  get count(): number {
    return this.refused.size;
  }

  private cellAt(head: TableHead): number {
    return cellColumnAt(head, this.options);
  }

  private async line(number: number): Promise<string | null> {
    const source = await this.open();
    try {
      const text = await asText(source, this.options);
      const decoder = new TextDecoder(this.options.encoding ?? 'utf-8');
      const piece = Buffer.alloc(256 * 1024);
      let open = '';
      let line = 1;
      for (;;) {
        const count = await text.source.read(piece, 0);
        if (count === 0) return line === number ? open : null;
        open += decoder.decode(piece.subarray(0, count), { stream: true });
        for (let end = open.indexOf('\n'); end >= 0; end = open.indexOf('\n')) {
          if (line === number) return open.slice(0, end).replace(/\r$/, '');
          open = open.slice(end + 1);
          line++;
        }
      }
    } finally {
      await source.close();
    }
  }
}

/** Place of the column that names the cell of a row; -1 for none. */
function cellColumnAt(head: TableHead, options: ImportOptions): number {
  if (options.kind === 'record' || options.kind === undefined) {
    try {
      const key = planRecord(head, options).keys.find(({ role }) => role === 'cell');
      if (key !== undefined) return key.index;
    } catch {
      // Not a record: a table names its cells in another way.
    }
  }
  return serialColumn(nameColumns(head.header, head.units), head, options.columns);
}

/** A refusal of one row that names the way to take the file's other cells, where it names several. */
export function withOtherCells(refused: RefusedFile, head: TableHead, options: ImportOptions): RefusedFile {
  const { row, expected } = refused.refusal;
  if (row === null || row < head.dialect.firstDataLine || options.wholeCells === true) return refused;
  if (cellColumnAt(head, options) < 0) return refused;
  return new RefusedFile({
    ...refused.refusal,
    expected: `${expected}; --whole-cells takes the file's cells whose rows are all right`,
  });
}
