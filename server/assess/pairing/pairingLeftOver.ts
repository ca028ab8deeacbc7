import type { GateVerdict, PairedLot } from '../../../fitting/pairing/index.ts';
import { nearestMiss } from '../../../fitting/pairing/index.ts';
import type { UnpairedCell, UnpairedReason } from '../../contract/pairingResult.ts';
import type { CellToPair } from './cellToPair.ts';
import type { SortedLot } from './sortedLot.ts';
import type { UsualGate } from './usualGates.ts';

type OfferedLot = Omit<SortedLot, 'out'>;

/** Why a cell was never offered, with what would have been its nearest partner. */
export function gateReasons(
  cell: CellToPair,
  verdict: GateVerdict | null,
  lot: OfferedLot,
  gates: readonly UsualGate[] = [],
): UnpairedCell {
  const common = { cell: cell.cell, nearestMiss: missOf(cell, lot) };
  if (cell.warningSign !== null)
    return { ...common, reason: 'warning-sign', feature: null, value: cell.warningSign, limit: null };
  if (verdict === null) return { ...common, reason: 'held-back', feature: null, value: null, limit: null };
  const { reason, feature, value, limit } = verdict;
  const name = lot.features[feature]?.used.name ?? gates[feature - lot.features.length].name;
  const isImplausible = reason === 'missing-value' && cell.implausible?.includes(name);
  return { ...common, reason: isImplausible ? 'implausible-value' : reason, feature: name, value, limit };
}

/** The offered cells that the best pairing leaves over, each with its reason and nearest miss. */
export function describeLeftOver(lot: SortedLot, { costs, matching, pairs }: PairedLot): UnpairedCell[] {
  const onlyOdd = lot.offered.length - 2 * pairs.length === 1;
  return lot.offered.flatMap((cell, a) => {
    if (matching.partner[a] !== -1) return [];
    const acceptable = lot.offered.some((_, b) => b !== a && costs.costOf(a, b) !== Infinity);
    const reason: UnpairedReason = !acceptable
      ? 'no-acceptable-partner'
      : onlyOdd
        ? 'odd-count'
        : 'acceptable-partners-used';
    return [
      { cell: cell.cell, reason, feature: null, value: null, limit: null, nearestMiss: missOf(cell, lot) },
    ];
  });
}

/** The cheapest partner among the offered cells if nothing were forbidden, and what forbids it. */
function missOf(cell: CellToPair, lot: OfferedLot): UnpairedCell['nearestMiss'] {
  if (cell.values.includes(null)) return null;
  const others = lot.offered.flatMap((other, i) => (other.cell === cell.cell ? [] : [i]));
  const found = nearestMiss(lot.numbers, cell.values as number[], others);
  if (found === null) return null;
  const partner = lot.offered[found.partner].cell;
  const keptApart = lot.criteria.locks.apart.some(
    (pair) => pair.includes(cell.cell) && pair.includes(partner),
  );
  return {
    cell: partner,
    cost: found.cost,
    exceeded: [
      ...found.exceeded.map(({ feature, difference, limit }) => ({
        feature: lot.features[feature].used.name,
        difference,
        limit,
      })),
      ...(keptApart ? [{ feature: null, difference: null, limit: null }] : []),
    ],
  };
}
