import type { ImportReport } from '../../contract/import.ts';
import type { QuantityName } from '../../contract/measurements.ts';
import { inOrder } from '../../inOrder.ts';
import { addToNote, areThere, findCellIds, insertCellsFrom } from '../../store/cells.ts';
import { countedAmong } from '../../store/countedStates.ts';
import {
  beginIncoming,
  endIncoming,
  endWhenPossible,
  hasIncoming,
  type IncomingFile,
  listIncomingChanges,
  Pieces,
  showIncoming,
  sweepIncomingFiles,
  touchIncoming,
} from '../../store/incomingFiles.ts';
import { insertMeasurementsFrom } from '../../store/measurements.ts';
import { prepareIncomingValues, refreshPresentValues } from '../../store/presentValues.ts';
import { insertSourceFile, setTakenSha256 } from '../../store/sourceFiles.ts';
import type { Store } from '../../store/store.ts';
import { recountStates } from '../parameters/recountStates.ts';
import { type NoteReport, noteTaken, ofCell, serialsOf, shaToTake, untilFree } from './takeFile.ts';
import type { TakenFile } from './takenFile.ts';

/** A table with fewer cells and values is stored in one transaction, which is short enough. */
const fewRows = 500;
/** Which of a cell's values represents it is found for whole cells, of so many values together at least. */
const valuesAtLeast = 200;
const attempts = 5;
/** Where more cells that the file has values of changed meanwhile, it is stored again, so that nobody waits long for them. */
const mostChanged = 500;

/** Whether a file is stored in pieces, so that its transaction keeps nobody waiting. */
export function isForPieces(store: Store, file: TakenFile): boolean {
  const plain = file.tests.length === 0 && file.stackLog == null;
  return store.beneath !== null && plain && file.measurements.length + (file.serials?.length ?? 0) > fewRows;
}

/** What a file rests on, or a serial that it brings, was changed while it was being stored. */
class ChangedMeanwhile extends Error {}

function isChangedMeanwhile(error: unknown): boolean {
  if (error instanceof ChangedMeanwhile) return true;
  return error instanceof Error && 'code' in error && String(error.code).startsWith('SQLITE_CONSTRAINT');
}

/**
 * Takes a table as {@link takeFile} does, in pieces that nobody sees before one last, short transaction shows all of
 * them. Whatever ends it before, nothing of the file is there; what is left in the tables is removed by whoever finds it.
 *
 * @param onPiece called between the pieces; may throw to stop
 * @throws TakenBefore where the same bytes are there already
 */
export async function takeInPieces(
  store: Store,
  file: TakenFile,
  note: NoteReport,
  onPiece: () => void,
): Promise<ImportReport> {
  await sweepIncomingFiles(store, { batch: file.batch });
  for (let attempt = 1; ; attempt++) {
    const begun = await untilFree(store, file.lotId, onPiece, () => begin(store, file));
    let report: ImportReport;
    try {
      await storePieces(store, file, begun, onPiece);
      report = await show(store, file, begun, note, attempt === attempts);
    } catch (error) {
      // Where the disk is full even removing may fail; the first error is the one to report.
      await endWhenPossible(store, begun.incoming, 'remove');
      if (attempt === attempts || !isChangedMeanwhile(error)) throw error;
      continue;
    }
    if (begun.hasKnown) await endWhenPossible(store, begun.incoming, 'settle');
    return report;
  }
}

interface Begun {
  readonly incoming: IncomingFile;
  /** Of all of the file's cells, in its order. */
  readonly cellIds: ReadonlyMap<string, number>;
  /** Serials of the cells that the file brings. */
  readonly fresh: readonly string[];
  /** Whether it has cells that were there before, whose values it may replace. */
  readonly hasKnown: boolean;
}

/** Reserves the identifiers; null where another file of the lot is being stored. */
async function begin(store: Store, file: TakenFile): Promise<Begun | null> {
  const serials = serialsOf(file);
  // Outside the transaction, where nobody waits for it: a cell that comes or goes meanwhile is noticed later.
  const known = await findCellIds(store, file.lotId, serials);
  return store.transaction(async (tx) => {
    if (await hasIncoming(tx, file.lotId)) return null;
    await shaToTake(tx, file);
    const fresh = serials.filter((serial) => !known.has(serial));
    const sourceFileId = await insertSourceFile(tx, { ...file, state: 'taken', takenSha256: null });
    const incoming = await beginIncoming(tx, {
      ...{ sourceFileId, lotId: file.lotId, batch: file.batch },
      cells: fresh.length,
      measurements: file.measurements.length,
    });
    const made = new Map(fresh.map((serial, i) => [serial, incoming.firstCellId + i]));
    const cellIds = new Map(serials.map((serial) => [serial, (known.get(serial) ?? made.get(serial))!]));
    return { incoming, cellIds, fresh, hasKnown: known.size > 0 };
  });
}

async function storePieces(
  { beneath }: Store,
  file: TakenFile,
  { incoming, cellIds, fresh }: Begun,
  onPiece: () => void,
): Promise<void> {
  const { sourceFileId, firstCellId, firstMeasurementId } = incoming;
  const inPieces = (
    count: number,
    first: number,
    piece: (tx: Store, from: number, to: number) => Promise<void>,
  ) =>
    new Pieces(first).through(count, async (from, to) => {
      onPiece();
      await beneath?.(async (tx) => {
        await touchIncoming(tx, sourceFileId);
        await piece(tx, from, to);
      });
    });
  await inPieces(fresh.length, 200, (tx, from, to) =>
    insertCellsFrom(
      tx,
      firstCellId + from,
      fresh.slice(from, to).map((serial) => ({
        lotId: file.lotId,
        serial,
        note: file.notes.get(serial) ?? '',
        createdAt: file.at,
        sourceFileId,
      })),
    ),
  );
  await inPieces(file.measurements.length, 200, (tx, from, to) =>
    insertMeasurementsFrom(
      tx,
      firstMeasurementId + from,
      file.measurements.slice(from, to).map((one) => ofCell(one, cellIds, sourceFileId)),
      file.at,
    ),
  );
  const before = grouped(byCell(file, cellIds, (cellId) => cellId < firstCellId));
  await inPieces(before.length, 1, (tx, from, to) =>
    prepareIncomingValues(tx, affected(before.slice(from, to).flat()), incoming),
  );
  const groups = grouped(byCell(file, cellIds, (cellId) => cellId >= firstCellId));
  await inPieces(groups.length, 1, async (tx, from, to) => {
    const some = groups.slice(from, to).flat();
    await inOrder(
      some.filter(({ counted }) => counted),
      ({ cellId }) => recountStates(tx, cellId),
    );
    await refreshPresentValues(tx, affected(some));
  });
}

/** A cell with what the file states of it. */
interface CellOfFile {
  readonly cellId: number;
  readonly quantities: ReadonlySet<QuantityName>;
  readonly values: number;
  /** Whether a state of charge was counted, so that it follows the cell's capacity. */
  readonly counted: boolean;
}

function byCell(
  file: TakenFile,
  cellIds: ReadonlyMap<string, number>,
  which: (cellId: number) => boolean,
): CellOfFile[] {
  const cells = new Map<
    number,
    CellOfFile & { quantities: Set<QuantityName>; values: number; counted: boolean }
  >();
  for (const { serial, quantity, counted } of file.measurements) {
    const cellId = cellIds.get(serial)!;
    if (!which(cellId)) continue;
    const cell = cells.get(cellId) ?? { cellId, quantities: new Set(), values: 0, counted: false };
    cell.quantities.add(quantity);
    cell.values++;
    if (counted != null) cell.counted = true;
    cells.set(cellId, cell);
  }
  return [...cells.values()];
}

/** Cells side by side until they have as many values as are looked at at least in one piece. */
function grouped(cells: readonly CellOfFile[]): CellOfFile[][] {
  const groups: CellOfFile[][] = [];
  let values = valuesAtLeast;
  for (const cell of cells) {
    if (values >= valuesAtLeast) {
      groups.push([]);
      values = 0;
    }
    groups[groups.length - 1].push(cell);
    values += cell.values;
  }
  return groups;
}

function affected(cells: readonly CellOfFile[]) {
  return {
    cellIds: cells.map(({ cellId }) => cellId),
    quantities: [...new Set(cells.flatMap(({ quantities }) => [...quantities]))],
  };
}

/**
 * Shows everything, and puts what the file changes of cells that were there before in order, where that was not prepared.
 *
 * @param atAnyLength whether it is done however many of these cells were changed meanwhile
 */
async function show(
  store: Store,
  file: TakenFile,
  { incoming, cellIds, fresh, hasKnown }: Begun,
  note: NoteReport,
  atAnyLength: boolean,
): Promise<ImportReport> {
  const { sourceFileId, firstCellId } = incoming;
  const before = byCell(file, cellIds, (cellId) => cellId < firstCellId);
  const withStates = before.filter(({ quantities, counted }) => counted || quantities.has('capacity'));
  const ids = [...cellIds.values()].filter((cellId) => cellId < firstCellId);
  const countedBefore = await findCounted(
    store,
    withStates.map(({ cellId }) => cellId),
  );
  return store.transaction(async (tx) => {
    const takenSha256 = await shaToTake(tx, file);
    await showIncoming(tx, sourceFileId);
    if (!hasKnown) await endIncoming(tx, sourceFileId);
    // With a cell its values are removed, those that nobody saw yet, too.
    if (!(await areThere(tx, ids))) throw new ChangedMeanwhile('A cell was removed meanwhile.');
    await setTakenSha256(tx, sourceFileId, takenSha256);
    for (const [serial, text] of file.notes) {
      const cellId = cellIds.get(serial);
      if (cellId !== undefined && cellId < firstCellId) await addToNote(tx, cellId, text);
    }
    const changed = new Set(await listIncomingChanges(tx, sourceFileId));
    if (changed.size > mostChanged && !atAnyLength)
      throw new ChangedMeanwhile('Values of many cells were changed meanwhile.');
    await refreshPresentValues(tx, affected(before.filter(({ cellId }) => changed.has(cellId))));
    // A state that was counted since they were found, or is not any more, is of a cell whose change is noted.
    const perhaps = withStates.filter(
      ({ cellId, counted }) => counted || countedBefore.has(cellId) || changed.has(cellId),
    );
    const counted = await countedAmong(
      tx,
      perhaps.map(({ cellId }) => cellId),
    );
    await inOrder(counted, (cellId) => recountStates(tx, cellId));
    return noteTaken(tx, file, { sourceFileId, cellIds, cellsCreated: fresh.length }, note);
  });
}

/**
 * Of some cells those that have a counted state of charge. Found in pieces before the last transaction, in which looking
 * through the values of all cells of a large table would be what others wait for longest.
 */
async function findCounted(store: Store, cellIds: readonly number[]): Promise<Set<number>> {
  const found = new Set<number>();
  await new Pieces(500).through(cellIds.length, async (from, to) => {
    for (const cellId of await countedAmong(store, cellIds.slice(from, to))) found.add(cellId);
  });
  return found;
}
