import { type LinePoint, lineBetween } from '../../assess/lots/lineBetween.ts';
import { outliersOf } from '../../assess/lots/outliersOf.ts';
import type { Context } from '../../context.ts';
import type { LotLine, LotLineQuery } from '../../contract/lotLine.ts';
import { fieldError, notFound, Refusal } from '../../errors.ts';
import { listSerials } from '../../store/cells.ts';
import { findLotHead } from '../../store/lots.ts';
import { columnValues } from '../../store/measurements.ts';
import { readColumnKey } from './readLotCells.ts';

/** Version of the line: a change of any number it gives is a new version. */
const VERSION = '1.2.0';

/** A cell with both values. */
interface Both {
  readonly cellId: number;
  readonly serial: string;
  readonly x: { readonly value: number; readonly uncertainty: number | null };
  readonly y: { readonly value: number; readonly uncertainty: number | null };
}

/**
 * The straight line between two quantities of the cells of a lot, with errors in both. An outlier in either, as the lot's
 * judgement has it, and a cell whose uncertainty is not stated are left out by name.
 *
 * @throws Refusal `not-found`: no such lot; `invalid-request`: no such column, or one column twice
 */
export async function relateColumns(context: Context, lotId: number, query: LotLineQuery): Promise<LotLine> {
  const { store } = context;
  if (!(await findLotHead(store, lotId))) throw notFound('lot', lotId);
  const keys = { x: readColumnKey('x', query.x), y: readColumnKey('y', query.y) };
  if (query.x === query.y)
    throw new Refusal('invalid-request', 'A line needs two different quantities.', [
      fieldError('y', query.y, 'is the column of the other axis', 'the key of another column'),
    ]);
  const [xs, ys] = [await columnValues(store, lotId, keys.x), await columnValues(store, lotId, keys.y)];
  const both = (await listSerials(store, lotId)).flatMap(({ id, serial }): Both[] => {
    const [x, y] = [xs.get(id), ys.get(id)];
    if (!x || !y || x.value === null || y.value === null) return [];
    return [
      {
        cellId: id,
        serial,
        x: { value: x.value, uncertainty: x.standardUncertainty ?? query.xUncertainty ?? null },
        y: { value: y.value, uncertainty: y.standardUncertainty ?? query.yUncertainty ?? null },
      },
    ];
  });
  const far = new Set(
    (['x', 'y'] as const).flatMap((axis) =>
      outliersOf(both.map((cell) => ({ ...cell[axis], cellId: cell.cellId }))).map(({ row }) => row.cellId),
    ),
  );
  const leftOut: LotLine['leftOut'] = [];
  const points: LinePoint[] = [];
  for (const { cellId, serial, x, y } of both) {
    if (far.has(cellId)) leftOut.push({ cellId, serial, reason: 'outlier' });
    else if (!x.uncertainty || !y.uncertainty)
      leftOut.push({ cellId, serial, reason: 'uncertainty-not-stated' });
    else points.push({ x: x.value, y: y.value, xUncertainty: x.uncertainty, yUncertainty: y.uncertainty });
  }
  const line = lineBetween(points, query.at);
  const unstated = leftOut.some(({ reason }) => reason === 'uncertainty-not-stated');
  return {
    lotId,
    algorithm: { name: 'lot-line', version: VERSION },
    x: { column: query.x, unit: xs.values().next().value?.unit ?? null },
    y: { column: query.y, unit: ys.values().next().value?.unit ?? null },
    leftOut,
    ...line,
    reason: line.reason === 'too-few-cells' && unstated ? 'uncertainty-not-stated' : line.reason,
  };
}
