import { FeatureCosts, FeatureSource, matchBest, pairsOf } from '../../../fitting/pairing/index.ts';
import type { PairingCriteria } from '../../contract/pairingCriteria.ts';
import type { PairingPreview } from '../../contract/pairings.ts';
import type { CellToPair } from './cellToPair.ts';
import { checkCells } from './pairingChecks.ts';
import { sortCells } from './pairingLot.ts';
import type { UsualGate } from './usualGates.ts';

/**
 * How many cells pass the gates, how many pairs among them are acceptable, and how many there can be at once. In a group of n
 * each cell needs n − 1 partners, so there are no more groups than such cells allow.
 */
export function countAcceptable(
  cells: readonly CellToPair[],
  criteria: PairingCriteria,
  gates: readonly UsualGate[] = [],
): PairingPreview {
  checkCells(cells, criteria);
  const { offered, locked, numbers, apart } = sortCells(cells, criteria, gates);
  const costs = new FeatureCosts(numbers, apart);
  const row = new Float64Array(costs.count);
  const partners = new Int32Array(costs.count);
  let feasiblePairs = locked.length;
  for (let a = 0; a < costs.count; a++) {
    costs.costsAfter(a, row);
    for (let b = a + 1; b < costs.count; b++) {
      if (row[b] === Infinity) continue;
      feasiblePairs++;
      partners[a]++;
      partners[b]++;
    }
  }
  const withPartners = (least: number) => partners.reduce((sum, n) => sum + (n >= least ? 1 : 0), 0);
  const size = criteria.cellsPerStack;
  return {
    cellsPerStack: size,
    cells: cells.length,
    offered: offered.length + 2 * locked.length,
    feasiblePairs,
    cellsWithPartner: withPartners(1) + 2 * locked.length,
    mostPairs:
      size > 2
        ? Math.floor(withPartners(size - 1) / size)
        : pairsOf(matchBest(new FeatureSource(costs)).partner).length + locked.length,
  };
}
