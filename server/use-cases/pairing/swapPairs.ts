import type { CellToPair } from '../../assess/pairing/cellToPair.ts';
import { describePair } from '../../assess/pairing/pairingPairs.ts';
import { type Context, inTransaction, nowText } from '../../context.ts';
import type { ProposedPair } from '../../contract/pairingProposal.ts';
import type { PairingResult } from '../../contract/pairingResult.ts';
import type { StoredPairing, SwapPairs } from '../../contract/pairings.ts';
import { fieldError, notFound, Refusal } from '../../errors.ts';
import { insertAudit } from '../../store/audit.ts';
import {
  findPairRow,
  type PairMember,
  type PairRow,
  serialsOf,
  setPairCells,
  setPairState,
} from '../../store/pairings.ts';
import { versionChanged } from '../register/versionChanged.ts';
import { readPairing } from './readPairing.ts';

/**
 * Exchanges a cell of one pair of a run with a cell of another, the last ones where none are named; doing it again with the
 * same places goes back. Refused where a new pair would break a limit or a lock of the run, or a stack was made of one of
 * the pairs. Both pairs are proposals again afterwards.
 *
 * @param version the run's version as it was read
 */
export async function swapPairs(
  context: Context,
  pairingId: number,
  version: number,
  { pairId, withPairId, cellId, withCellId }: SwapPairs,
): Promise<StoredPairing> {
  await inTransaction(context, async (context) => {
    const { result, inputs, version: present } = await readPairing(context, pairingId);
    if (present !== version) throw versionChanged(version, present);
    const nameOf = new Map(inputs.map(({ cellId, cell }) => [cellId, cell]));
    const first = await pairOfRun(context, pairingId, pairId, 'pairId');
    const second = await pairOfRun(context, pairingId, withPairId, 'withPairId');
    if (first.id === second.id)
      throw new Refusal('invalid-request', 'A pair cannot exchange partners with itself.', [
        fieldError('withPairId', withPairId, 'is the same pair', 'another pair of this run'),
      ]);
    const place = placeOf(first, cellId, 'cellId');
    const withPlace = placeOf(second, withCellId, 'withCellId');
    const exchanged: [PairRow, PairMember[]][] = [
      [first, first.cells.with(place, second.cells[withPlace])],
      [second, second.cells.with(withPlace, first.cells[place])],
    ];
    for (const [row, cells] of exchanged) {
      const detail = describeByResult(
        result,
        cells.map(({ id }) => nameOf.get(id)!),
      );
      await setPairCells(context.store, row.id, {
        cellIds: cells.map(({ id }) => id),
        cost: detail.cost,
        detailJson: JSON.stringify(detail),
      });
      // A decision belongs to the cells it was made about: the new pair needs a decision of its own.
      if (row.state !== 'proposed') await setPairState(context.store, row.id, 'proposed', null);
    }
    await insertAudit(context.store, {
      at: nowText(context),
      actor: context.actor.name,
      action: 'pairing.exchanged',
      subjectKind: 'pairing',
      subjectId: pairingId,
      detail: { first: serialsOf({ cells: exchanged[0][1] }), second: serialsOf({ cells: exchanged[1][1] }) },
    });
  });
  return readPairing(context, pairingId);
}

/** Place of a cell in its pair; the last one where none is named. */
function placeOf({ cells }: PairRow, cellId: number | null, field: string): number {
  if (cellId === null) return cells.length - 1;
  const place = cells.findIndex(({ id }) => id === cellId);
  if (place === -1)
    throw new Refusal('invalid-request', `The cell ${cellId} is not in this pair.`, [
      fieldError(field, cellId, 'is not in this pair', `one of ${cells.map(({ id }) => id).join(', ')}`),
    ]);
  return place;
}

async function pairOfRun(
  context: Context,
  pairingId: number,
  pairId: number,
  field: string,
): Promise<PairRow> {
  const pair = await findPairRow(context.store, pairId);
  if (!pair || pair.pairingId !== pairingId) throw notFound('pair', pairId, field);
  if (pair.stackId !== null)
    throw new Refusal('in-use', 'A stack was made of this pair; undo that first.', [
      fieldError(field, pairId, `the stack ${pair.stackId} holds it`, 'a pair without a stack'),
    ]);
  return pair;
}

/** A pair as the run would have described it, from the values the run kept. */
function describeByResult(result: PairingResult, names: readonly string[]): ProposedPair {
  const cellOf = (name: string): CellToPair => {
    const kept = result.cells.find((cell) => cell.cell === name)!;
    return {
      cell: name,
      row: null,
      warningSign: null,
      values: kept.values.map(({ value }) => value),
      standardUncertainties: kept.values.map(({ standardUncertainty }) => standardUncertainty),
    };
  };
  const title = names.join(' + ');
  const { together, apart } = result.criteria.locks;
  const whole = (pair: readonly string[]) => pair.every((name) => names.includes(name));
  const torn = together.find((pair) => !whole(pair) && pair.some((name) => names.includes(name)));
  if (torn || apart.some(whole))
    throw new Refusal('cannot-pair', `A lock of this run forbids ${title}.`, [
      fieldError(
        'withPairId',
        title,
        torn ? `${torn.join(' + ')} is locked together` : 'is locked apart',
        'pairs without such a lock',
      ),
    ]);
  const features = result.features.map((used) => ({ used, usualUncertainty: null }));
  const described = describePair(
    { cells: names.map(cellOf), locked: together.some(whole), exchange: null, bootstrapFrequency: null },
    features,
    result.criteria.use,
  );
  described.differences.forEach(({ feature, difference, unit }, f) => {
    const limit = result.features[f].pairLimit;
    if (limit !== null && Math.abs(difference) > limit * (1 + 1e-9))
      throw new Refusal('cannot-pair', `${title} would be outside the limit of ${feature}.`, [
        fieldError(
          'withPairId',
          title,
          `differs by ${Math.abs(difference)} ${unit}`,
          `at most ${limit} ${unit}`,
        ),
      ]);
  });
  return described;
}
