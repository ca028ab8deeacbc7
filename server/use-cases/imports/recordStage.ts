import type { RowBlock } from '../../store/chunks/rowBlock.ts';
import type { StagedRecord } from '../../store/stagedRecords.ts';

/** Where the rows of a record file go until the file is taken as a whole: into the store, or nowhere. */
export interface RecordStage {
  begin(run: number): void;
  rows(run: number, block: RowBlock, from: number, to: number): void;
  /** Called between blocks of rows. */
  settle(): Promise<void>;
  finish(): Promise<StagedRecord[]>;
  drop(): Promise<void>;
}

const rowsShown = 8;
/** Points of the picture in each run that is drawn; the middle ones are thinned out as more come. */
const pointsShown = 400;

/** What a preview shows of the rows: the first ones, and a small picture of voltage and current of the first run. */
export class LookedAtRows implements RecordStage {
  readonly firstRows: (number | null)[][] = [];
  /** Time, voltage and current of rows of the first run. */
  picture: { timeS: number; voltageV: number; currentA: number }[] = [];
  private readonly runs: { rowCount: number; firstTimeS: number; lastTimeS: number }[] = [];
  private readonly columnCount: number;
  private readonly voltageAt: number;
  private readonly currentAt: number;
  private every = 1;

  constructor(columnCount: number, voltageAt: number, currentAt: number) {
    this.columnCount = columnCount;
    this.voltageAt = voltageAt;
    this.currentAt = currentAt;
  }

  begin(run: number): void {
    this.runs[run] = { rowCount: 0, firstTimeS: Number.NaN, lastTimeS: Number.NaN };
  }

  rows(run: number, { values, stride }: RowBlock, from: number, to: number): void {
    const seen = this.runs[run];
    if (seen.rowCount === 0) seen.firstTimeS = values[from];
    seen.lastTimeS = values[to - 1];
    for (let i = from; i < to && this.firstRows.length < rowsShown; i++) {
      const row = Array.from({ length: this.columnCount }, (_, k) => values[k * stride + i]);
      this.firstRows.push(row.map((value) => (Number.isFinite(value) ? value : null)));
    }
    if (run === 0) {
      for (let i = from; i < to; i++) {
        if ((seen.rowCount + i - from) % this.every !== 0) continue;
        this.picture.push({
          timeS: values[i],
          voltageV: values[this.voltageAt * stride + i],
          currentA: values[this.currentAt * stride + i],
        });
        if (this.picture.length < 2 * pointsShown) continue;
        this.picture = this.picture.filter((_, place) => place % 2 === 0);
        this.every *= 2;
      }
    }
    seen.rowCount += to - from;
  }

  async settle(): Promise<void> {}

  async finish(): Promise<StagedRecord[]> {
    return this.runs.map(({ rowCount, firstTimeS, lastTimeS }) => ({
      recordId: 0,
      rowCount,
      durationS: lastTimeS - firstTimeS,
    }));
  }

  async drop(): Promise<void> {}
}
