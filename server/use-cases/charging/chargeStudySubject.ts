import type { Context } from '../../context.ts';
import type { ChargeStudySubjectNames } from '../../contract/chargeStudies.ts';
import type { ParameterSet } from '../../contract/parameterSet.ts';
import { fieldError, Refusal } from '../../errors.ts';
import { inOrder } from '../../inOrder.ts';
import { readParameters } from '../parameters/readParameters.ts';

/** One stored cell of a study with the parameters of its type. */
export interface SubjectCell {
  readonly cell: ParameterSet['cells'][number];
  readonly cellType: ParameterSet['cellType'];
}

/** What a study charges: cells in series from the negative end. */
export interface ChargeStudySubject {
  readonly name: string;
  readonly stackId: number | null;
  readonly cells: readonly SubjectCell[];
}

/**
 * Reads the stack or the cells that a study names, with their parameters.
 * @throws Refusal `not-found`, or `invalid-request` where not exactly one of stack and cells is named, or a cell twice.
 */
export async function chargeStudySubject(
  context: Context,
  subject: ChargeStudySubjectNames,
): Promise<ChargeStudySubject> {
  const { stackId, cellIds } = subject;
  if ((stackId === undefined) === (cellIds === undefined))
    throw new Refusal('invalid-request', 'A charge study is of a stack or of cells.', [
      fieldError(
        'stackId',
        stackId,
        'exactly one of stackId and cellIds is needed',
        'the identifier of a stack',
      ),
    ]);
  if (stackId !== undefined) {
    const set = await readParameters(context, 'stack', stackId);
    const order = set.stack?.cellIds ?? set.cells.map((cell) => cell.id);
    const cells = order.flatMap((id) => set.cells.filter((cell) => cell.id === id));
    return {
      name: set.subject.name,
      stackId,
      cells: cells.map((cell) => ({ cell, cellType: set.cellType })),
    };
  }
  const twice = cellIds?.find((cellId, i) => cellIds.indexOf(cellId) < i);
  if (twice !== undefined)
    throw new Refusal('invalid-request', 'A cell cannot be in series with itself.', [
      fieldError('cellIds', twice, 'is named twice', 'every cell once'),
    ]);
  const cells = await inOrder(cellIds ?? [], async (cellId) => {
    const set = await readParameters(context, 'cell', cellId);
    return { cell: set.cells[0], cellType: set.cellType };
  });
  return { name: cells.map(({ cell }) => cell.serial).join(' + '), stackId: null, cells };
}

/** The fits that the cells' circuit, open-circuit and capacity parameters came from, each once. */
export function fitsOf(subject: ChargeStudySubject): number[] {
  const fits = subject.cells.flatMap(({ cell }) => [
    ...cell.circuits.map((table) => table.fitId),
    cell.openCircuit?.fitId,
    ...cell.measurements.filter((m) => m.quantity === 'capacity').map((m) => m.fitId),
  ]);
  return [...new Set(fits.filter((id) => typeof id === 'number'))].sort((a, b) => a - b);
}
