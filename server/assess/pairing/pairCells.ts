import {
  alternativePartners,
  bestExchanges,
  bootstrapOf,
  comparePairings,
  countChosen,
  FeatureCosts,
  groupStacks,
  type PairedLot,
  pairLot,
  partnersOf,
  toleranceChart,
} from '../../../fitting/pairing/index.ts';
import { seededRandom } from '../../../fitting/statistics/index.ts';
import type { PairingCriteria } from '../../contract/pairingCriteria.ts';
import { type PairingResult, pairingCaution } from '../../contract/pairingResult.ts';
import type { CellToPair } from './cellToPair.ts';
import { checkCells } from './pairingChecks.ts';
import type { ResolvedFeature } from './pairingFeatures.ts';
import { describeLeftOver } from './pairingLeftOver.ts';
import { sortCells } from './pairingLot.ts';
import { describePair, featureOfQuantity, resistanceFeature } from './pairingPairs.ts';
import { pairingWarnings, runWarnings } from './pairingWarnings.ts';
import type { SortedLot } from './sortedLot.ts';
import type { UsualGate } from './usualGates.ts';

export const pairingAlgorithm = { name: 'blossom-with-pricing', version: 1 } as const;

/** Lots up to this size are paired again for every alternative, so that its increase is exact. */
const EXACT_ALTERNATIVES = 120;
const ALTERNATIVES_EACH = 3;

/** What is paired: the cells, the criteria, and the quantities by which outliers are left out besides their features. */
export interface CellsToPair {
  readonly cells: readonly CellToPair[];
  readonly criteria: PairingCriteria;
  readonly gates?: readonly UsualGate[];
}

/** A lot that is sorted and paired; what explains the pairs is still to come. */
export interface BegunPairing {
  readonly asked: CellsToPair;
  readonly lot: SortedLot;
  /** Null where larger stacks are asked for. */
  readonly paired: PairedLot | null;
  /** Repetitions with drawn values that are to be counted. */
  readonly repetitions: number;
}

/**
 * Pairs cells by the criteria: gates, then the proven best pairs, then everything that explains them; more than two in
 * series are grouped by a search with a bound. The same cells, criteria and seed give the same result.
 *
 * @param gates quantities by which outliers are left out besides the features of the criteria
 * @throws Refusal for duplicate cells, fewer than two, contradictory locks, tolerances of zero, and missing values
 *   where the criteria refuse them.
 */
export function pairCells(
  cells: readonly CellToPair[],
  criteria: PairingCriteria,
  gates: readonly UsualGate[] = [],
): PairingResult {
  const begun = beginPairing({ cells, criteria, gates });
  const pairs = begun.paired?.pairs ?? [];
  return finishPairing(begun, [countRepeated({ ...begun.asked, pairs }, [0, begun.repetitions])]);
}

/** The first half of {@link pairCells}: gates and the proven best pairs. @throws Refusal as it does */
export function beginPairing(asked: CellsToPair): BegunPairing {
  const { cells, criteria, gates = [] } = asked;
  checkCells(cells, criteria);
  const lot = sortCells(cells, criteria, gates);
  if (criteria.cellsPerStack > 2) return { asked, lot, paired: null, repetitions: 0 };
  const paired = pairLot({ features: lot.numbers, apart: lot.apart, goal: criteria.objective });
  return { asked, lot, paired, repetitions: repetitionsOf(lot, paired) };
}

/** The second half: everything that explains the pairs. @param counted of {@link countRepeated}, over all repetitions */
export function finishPairing(
  { asked, lot, paired, repetitions }: BegunPairing,
  counted: readonly Int32Array[],
): PairingResult {
  const { cells, criteria } = asked;
  const base = {
    schemaVersion: 1 as const,
    algorithm: pairingAlgorithm,
    criteria,
    features: lot.features.map(({ used }) => used),
    cells: cells.map((cell) => describeCell(cell, lot.features)),
    cautions: [...pairingCaution.options],
    warnings: [...runWarnings(cells, criteria), ...pairingWarnings(lot)],
  };
  if (paired === null) return { ...base, ...stackLot(lot) };
  const chosen = Int32Array.from(paired.pairs, (_, i) => counted.reduce((sum, part) => sum + part[i], 0));
  const bootstrap = repetitions === 0 ? null : bootstrapOf(chosen, repetitions);
  return { ...base, ...explainPairs(lot, paired, bootstrap) };
}

function describeCell(cell: CellToPair, features: readonly ResolvedFeature[]) {
  return {
    cell: cell.cell,
    values: features.map(({ used, usualUncertainty }, f) => ({
      feature: used.name,
      value: cell.values[f],
      standardUncertainty:
        cell.values[f] === null ? null : (cell.standardUncertainties[f] ?? usualUncertainty),
    })),
  };
}

type Answer = Omit<
  PairingResult,
  'schemaVersion' | 'algorithm' | 'criteria' | 'features' | 'cells' | 'cautions' | 'warnings'
>;

function explainPairs(
  lot: SortedLot,
  paired: PairedLot,
  bootstrap: ReturnType<typeof bootstrapOf> | null,
): Answer {
  const { criteria, features, locked, numbers, apart } = lot;
  const proposed = describeProposed(lot, paired, bootstrap?.frequencies ?? null);
  const demanded = locked.map((pair) =>
    describePair(
      { cells: pair, locked: true, exchange: null, bootstrapFrequency: null },
      features,
      criteria.use,
    ),
  );
  const lockedCost = demanded.reduce((sum, pair) => sum + pair.cost, 0);
  const pairs = [...demanded, ...proposed];
  return {
    pairs,
    unpaired: [...lot.out, ...describeLeftOver(lot, paired)],
    totalCost: paired.total + lockedCost,
    worstCost: pairs.length === 0 ? null : Math.max(...pairs.map((pair) => pair.cost)),
    certificate: {
      lowerBound: paired.lowerBound === null ? null : paired.lowerBound + lockedCost,
      proven: paired.proven,
      costResolution: paired.costs.resolution,
      checkedPairs: paired.check.checkedPairs,
      mostPairs: paired.proven ? pairs.length : null,
      worstCostLowerBound: paired.worstLowerBound,
      reason: !paired.proven ? 'not-confirmed' : pairs.length === 0 ? 'nothing-to-pair' : 'confirmed',
    },
    bootstrap: bootstrap === null ? null : { runs: bootstrap.runs, meanPairsKept: bootstrap.meanKept },
    comparison: compare(lot, paired),
    alternatives: describeAlternatives(lot, paired),
    toleranceChart: toleranceChart(
      numbers,
      apart,
      criteria.objective === 'least-total' ? paired.pairs : null,
    ).map(({ factor, pairs: count, total, worst }) => ({
      factor,
      pairs: count + locked.length,
      totalCost: total + lockedCost,
      worstCost: worst,
    })),
  };
}

function describeProposed(
  { criteria, features, offered, numbers }: SortedLot,
  { costs, pairs }: PairedLot,
  frequencies: Float64Array | null,
): PairingResult['pairs'] {
  const exchanges = bestExchanges(costs, numbers, pairs);
  const nameOf = (index: number) => offered[index].cell;
  return pairs.map(([a, b], i) => {
    const found = exchanges[i];
    const [c, d] = found === null ? [0, 0] : pairs[found.other];
    const pair = describePair(
      {
        cells: [offered[a], offered[b]],
        locked: false,
        exchange: found === null ? null : { found, nameOf, other: [nameOf(c), nameOf(d)] },
        bootstrapFrequency: frequencies === null ? null : frequencies[i],
      },
      features,
      criteria.use,
    );
    // The cost that was minimised and proven; its differences' parts add up to it within the resolution.
    return { ...pair, cost: costs.costOf(a, b) * costs.resolution };
  });
}

/** Repetitions by default: as many as take about as long as the rest. The worst-pair goal takes far longer each. */
function usualRuns(count: number, criteria: PairingCriteria): number {
  const runs = count <= 200 ? 200 : count <= 1000 ? 50 : count <= 3000 ? 10 : 0;
  return criteria.objective === 'least-total' ? runs : Math.floor(runs / 20);
}

/** None where some uncertainty that counts is unknown, because then the pairs would look more certain than they are. */
function repetitionsOf({ criteria, numbers, offered }: SortedLot, paired: PairedLot): number {
  const unknown = numbers.some(
    ({ importance, standardUncertainties }) => importance > 0 && standardUncertainties.includes(null),
  );
  return unknown || paired.pairs.length === 0
    ? 0
    : (criteria.bootstrapRuns ?? usualRuns(offered.length, criteria));
}

/**
 * Pairs the cells again with values drawn about the measured ones, and counts how often each pair is chosen again.
 *
 * @param pairs the pairs that were found, by the places of their cells among those that were offered
 * @returns of each pair, the repetitions from `first` on that chose it
 */
export function countRepeated(
  { cells, criteria, gates = [], pairs }: CellsToPair & { readonly pairs: PairedLot['pairs'] },
  [first, count]: readonly [first: number, count: number],
): Int32Array {
  if (count === 0) return new Int32Array(pairs.length);
  const { numbers, apart } = sortCells(cells, criteria, gates);
  return countChosen(
    numbers,
    pairs,
    (drawn) => partnersOf({ features: drawn, apart, goal: criteria.objective }),
    { first, count, random: seededRandom(criteria.randomSeed) },
  );
}

function compare({ criteria, features, numbers }: SortedLot, paired: PairedLot): PairingResult['comparison'] {
  if (paired.pairs.length === 0) return [];
  const column = (f: number) => (f === -1 ? null : numbers[f].values);
  const rows = comparePairings(
    paired.costs,
    numbers,
    paired.pairs,
    {
      capacityAh: column(featureOfQuantity(features, 'capacity')),
      resistanceOhm: column(resistanceFeature(features)),
      chargeCurrentA: criteria.use.chargeCurrentA,
    },
    criteria.randomPairings,
    seededRandom(criteria.randomSeed),
  );
  return rows.map((row) => ({
    ...row,
    feature: row.feature === null ? null : features[row.feature].used.name,
  }));
}

function describeAlternatives(lot: SortedLot, paired: PairedLot): PairingResult['alternatives'] {
  const { offered, numbers, apart, criteria } = lot;
  // The dual solution of the worst-pair goal prices another problem, so nothing is said about totals there.
  const priced = criteria.objective === 'least-total';
  const partners = alternativePartners(
    { costs: paired.costs, features: numbers, apart, matching: paired.matching },
    ALTERNATIVES_EACH,
    priced && offered.length <= EXACT_ALTERNATIVES,
  );
  return partners.map((found, i) => ({
    cell: offered[i].cell,
    partners: found.map(({ partner, cost, increaseAtLeast, exact }) => ({
      cell: offered[partner].cell,
      cost,
      totalIncreaseAtLeast: priced && (exact === null || exact.pairsLost === 0) ? increaseAtLeast : null,
      totalIncrease: exact !== null && exact.pairsLost === 0 ? exact.increase : null,
      pairsLost: exact?.pairsLost ?? null,
    })),
  }));
}

function stackLot({ criteria, features, offered, numbers, apart, out }: SortedLot): Answer {
  const costs = new FeatureCosts(numbers, apart);
  const { groups, leftOver, total, lowerBound } = groupStacks(costs, criteria.cellsPerStack);
  const pairs = groups.map((group) =>
    describePair(
      { cells: group.map((i) => offered[i]), locked: false, exchange: null, bootstrapFrequency: null },
      features,
      criteria.use,
    ),
  );
  const none = { feature: null, value: null, limit: null, nearestMiss: null };
  return {
    pairs,
    unpaired: [
      ...out,
      ...leftOver.map((i) => ({ cell: offered[i].cell, reason: 'outside-full-groups' as const, ...none })),
    ],
    totalCost: total,
    worstCost: pairs.length === 0 ? null : Math.max(...pairs.map((pair) => pair.cost)),
    certificate: {
      lowerBound,
      proven: false,
      costResolution: costs.resolution,
      checkedPairs: 0,
      mostPairs: null,
      worstCostLowerBound: null,
      reason: pairs.length === 0 ? 'nothing-to-pair' : 'heuristic',
    },
    bootstrap: null,
    comparison: [],
    alternatives: [],
    toleranceChart: [],
  };
}
