import type { PairExchange } from '../../../fitting/pairing/index.ts';
import {
  type CellOfPair,
  differenceUncertainty,
  pairConsequences,
  probabilityWithinTolerance,
} from '../../../fitting/pairing/index.ts';
import type { FeatureQuantity, PlannedUse } from '../../contract/pairingCriteria.ts';
import type { PairConsequences, PairDifference, ProposedPair } from '../../contract/pairingProposal.ts';
import type { CellToPair } from './cellToPair.ts';
import type { ResolvedFeature } from './pairingFeatures.ts';

/** Coverage of about 95 % (JCGM 100:2008, 6.3.3): a smaller increase is not significant. */
const COVERAGE = 2;

/** A pair of cells with what is known about it besides their values. */
export interface PairToDescribe {
  readonly cells: readonly [CellToPair, CellToPair];
  readonly locked: boolean;
  readonly exchange: {
    readonly found: PairExchange;
    readonly nameOf: (index: number) => string;
    readonly other: readonly [string, string];
  } | null;
  readonly bootstrapFrequency: number | null;
}

/** Everything that is shown of one pair. */
export function describePair(
  { cells, locked, exchange, bootstrapFrequency }: PairToDescribe,
  features: readonly ResolvedFeature[],
  use: PlannedUse,
): ProposedPair {
  const [first, second] = cells;
  const differences = features.map((feature, f) => describeDifference(first, second, feature, f));
  const probabilities = differences.map((difference) => difference.probabilityWithinTolerance);
  const increase = exchange?.found.increase ?? null;
  const uncertainty = exchange?.found.standardUncertainty ?? null;
  return {
    cells: [first.cell, second.cell],
    cost: differences.reduce((sum, difference) => sum + difference.cost, 0),
    locked,
    differences,
    probabilityWithinTolerance: probabilities.includes(null)
      ? null
      : probabilities.reduce<number>((product, p) => product * p!, 1),
    nextBestExchange:
      exchange === null
        ? null
        : {
            withPair: [...exchange.other],
            instead: [
              [exchange.nameOf(exchange.found.instead[0][0]), exchange.nameOf(exchange.found.instead[0][1])],
              [exchange.nameOf(exchange.found.instead[1][0]), exchange.nameOf(exchange.found.instead[1][1])],
            ],
            costIncrease: exchange.found.increase,
            standardUncertainty: uncertainty,
          },
    indistinguishable: increase === null || uncertainty === null ? null : increase <= COVERAGE * uncertainty,
    bootstrapFrequency,
    consequences: describeConsequences(first, second, features, use),
  };
}

function describeDifference(
  first: CellToPair,
  second: CellToPair,
  { used, usualUncertainty }: ResolvedFeature,
  f: number,
): PairDifference {
  const difference = second.values[f]! - first.values[f]!;
  const standardUncertainty = differenceUncertainty(
    first.standardUncertainties[f] ?? usualUncertainty,
    second.standardUncertainties[f] ?? usualUncertainty,
  );
  const inTolerances = Math.abs(difference) / used.tolerance;
  return {
    feature: used.name,
    unit: used.unit,
    difference,
    inTolerances,
    cost: used.importance * inTolerances ** 2,
    standardUncertainty,
    probabilityWithinTolerance:
      standardUncertainty === null
        ? null
        : probabilityWithinTolerance(difference, standardUncertainty, used.tolerance),
  };
}

/** The feature that represents the resistance under load: measured on charge before others, DC before ohmic and AC. */
export function resistanceFeature(features: readonly ResolvedFeature[]): number {
  const rank = ({ used }: ResolvedFeature) => {
    const order = ['resistance', 'ohmic-resistance', 'impedance-1khz'].indexOf(used.quantity);
    return order === -1 ? Infinity : 2 * order + (used.condition?.direction === 'charge' ? 0 : 1);
  };
  let best = -1;
  features.forEach((feature, f) => {
    if (rank(feature) < (best === -1 ? Infinity : rank(features[best]))) best = f;
  });
  return best;
}

/** The feature that measures a quantity, −1 for none. */
export function featureOfQuantity(features: readonly ResolvedFeature[], quantity: FeatureQuantity): number {
  return features.findIndex(({ used }) => used.quantity === quantity);
}

function describeConsequences(
  first: CellToPair,
  second: CellToPair,
  features: readonly ResolvedFeature[],
  use: PlannedUse,
): PairConsequences {
  const known = (cell: CellToPair): CellOfPair => {
    const value = (f: number) => (f === -1 ? null : cell.values[f]);
    const of = (quantity: FeatureQuantity) => value(featureOfQuantity(features, quantity));
    return {
      capacityAh: of('capacity'),
      resistanceOhm: value(resistanceFeature(features)),
      voltageDriftVPerDay: of('self-discharge'),
      capacityFadeAhPerCycle: of('capacity-fade'),
      resistanceRiseOhmPerCycle: of('resistance-rise'),
    };
  };
  const { limitsCharge, limitsDischarge, ...figures } = pairConsequences(known(first), known(second), use);
  const name = (which: 0 | 1 | null) => (which === null ? null : [first.cell, second.cell][which]);
  return { ...figures, limitsCharge: name(limitsCharge), limitsDischarge: name(limitsDischarge) };
}
