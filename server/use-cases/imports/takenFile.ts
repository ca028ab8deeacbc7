import type { ImportReport } from '../../contract/import.ts';
import type { TestKind, TestStep } from '../../contract/tests.ts';
import type { NewMeasurement } from '../../store/measurements.ts';
import type { StoredColumn } from '../../store/records.ts';
import type { NewStackLog } from '../../store/stackLogs.ts';
import type { StagedRecord } from '../../store/stagedRecords.ts';
import type { NewSweep } from '../../store/sweeps.ts';

/** A test that a file brings. */
export interface TakenTest {
  readonly serial: string;
  readonly kind: TestKind;
  readonly label: string;
  readonly startedAt: string | null;
  readonly temperatureC: number | null;
  /** State of charge at the first row, 0…1, where it was stated. */
  readonly startSoc?: number | null;
  readonly cycle: number | null;
  readonly firstRow: number;
  readonly lastRow: number;
  /** Whether the runs of its cell in the file are evaluated as one record. */
  readonly together?: boolean;
  readonly record: StagedRecord | null;
  readonly steps: readonly TestStep[];
  /** Impedance spectra; left out where the file brings none. */
  readonly sweeps?: readonly NewSweep[];
}

/** A measurement that a file brings, of the cell with this serial. */
export interface TakenMeasurement extends Omit<NewMeasurement, 'cellId' | 'sourceFileId'> {
  readonly serial: string;
  /** Place of the test of this file that it comes from; left out where it comes from none. */
  readonly testIndex?: number;
}

/** A stack log that a file brings, with the names that its report says. */
export interface TakenStackLog extends NewStackLog {
  readonly stackName: string;
  readonly serials: readonly string[];
}

/** Everything that taking one file puts into the database. */
export interface TakenFile {
  readonly name: string;
  readonly sha256: string;
  readonly bytes: number;
  readonly kind: string;
  readonly lotId: number;
  readonly rowCount: number;
  readonly at: string;
  readonly by: string;
  readonly batch: string;
  /** Taken on purpose although the same bytes were taken before, for another cell. */
  readonly again: boolean;
  readonly columns: readonly StoredColumn[];
  readonly tests: readonly TakenTest[];
  readonly measurements: readonly TakenMeasurement[];
  /** Left out where the file is not a stack log; null where a preview does not know its stack. */
  readonly stackLog?: TakenStackLog | null;
  /** Cells that the file names, also those of which it has no value; left out where tests and measurements name all. */
  readonly serials?: readonly string[];
  /** What the file says of cells in words, by serial; added to the cells' notes. */
  readonly notes: ReadonlyMap<string, string>;
  readonly report: ImportReport;
}
