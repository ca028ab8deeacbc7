import { judgeCells } from '../../../fitting/pairing/index.ts';
import type { PairingCriteria } from '../../contract/pairingCriteria.ts';
import type { CellToPair } from './cellToPair.ts';
import { lotFeatures, resolveFeatures } from './pairingFeatures.ts';
import { gateReasons } from './pairingLeftOver.ts';
import type { SortedLot } from './sortedLot.ts';
import { leastScale, type UsualGate } from './usualGates.ts';

/**
 * Sorts the cells of a run: out with a reason, locked together, or offered to the matching.
 *
 * @param gates quantities by which cells are judged besides the features of the criteria
 * @throws Refusal naming a tolerance or limit that comes out as zero.
 */
export function sortCells(
  cells: readonly CellToPair[],
  criteria: PairingCriteria,
  gates: readonly UsualGate[] = [],
): SortedLot {
  const byName = new Map(cells.map((cell) => [cell.cell, cell]));
  const distinct = new Map(
    criteria.locks.together.map(([a, b]) => [[a, b].sort().join('\n'), [a, b] as const]),
  );
  const locked = [...distinct.values()].map(([a, b]) => [byName.get(a)!, byName.get(b)!] as const);
  const lockedCells = new Set(locked.flat());
  const judged = cells.filter(
    (cell) => cell.warningSign === null && !criteria.locks.heldBack.includes(cell.cell),
  );
  const places = judged.map((cell) => cells.indexOf(cell));
  const verdicts = judgeCells(
    [
      ...criteria.features.map((feature, f) => {
        const values = judged.map((cell) => cell.values[f]);
        return {
          values,
          minimum: feature.cellMinimum,
          maximum: feature.cellMaximum,
          required: true,
          leastScale: leastScale(feature.quantity, values),
        };
      }),
      ...gates.map(({ quantity, values: all }) => {
        const values = places.map((place) => all[place]);
        return {
          values,
          minimum: null,
          maximum: null,
          required: false,
          leastScale: leastScale(quantity, values),
        };
      }),
    ],
    criteria.outlierLimit,
  );
  const verdictOf = new Map(judged.map((cell, i) => [cell, verdicts[i]]));
  const offered = judged.filter((cell) => verdictOf.get(cell) === null && !lockedCells.has(cell));
  const features = resolveFeatures(criteria, [...offered, ...lockedCells]);
  const place = new Map(offered.map((cell, i) => [cell.cell, i]));
  const apart = criteria.locks.apart.flatMap(([a, b]) => {
    const [i, j] = [place.get(a), place.get(b)];
    return i === undefined || j === undefined ? [] : [[i, j] as const];
  });
  const numbers = lotFeatures(features, offered);
  const lot = { criteria, features, offered, locked, numbers, apart };
  const out = cells
    .filter((cell) => !lockedCells.has(cell) && !place.has(cell.cell))
    .map((cell) => gateReasons(cell, verdictOf.get(cell) ?? null, lot, gates));
  return { ...lot, out };
}
