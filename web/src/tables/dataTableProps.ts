import type { ColumnDef } from '@tanstack/react-table';

export interface DataTableProps<T extends object> {
  /** Names the table in the address and in what is remembered. */
  readonly name: string;
  /** What the table holds, for readers that do not see it. */
  readonly label: string;
  readonly rows: readonly T[];
  readonly columns: readonly ColumnDef<T>[];
  readonly rowId: (row: T) => string;
  readonly height?: number;
  readonly chosen?: ReadonlySet<string>;
  readonly onChosen?: (chosen: ReadonlySet<string>) => void;
  /** Column that the rows are sorted by at first; a leading minus turns the order round. */
  readonly firstSort?: string;
  readonly filterLabel?: string;
}
