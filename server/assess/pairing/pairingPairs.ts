import type { PairExchange } from '../../../fitting/pairing/index.ts';
import {
  type CellOfPair,
  differenceUncertainty,
  groupConsequences,
  probabilityAllWithin,
  probabilityWithinTolerance,
} from '../../../fitting/pairing/index.ts';
import type { FeatureQuantity, PlannedUse } from '../../contract/pairingCriteria.ts';
import type { PairConsequences, PairDifference, ProposedPair } from '../../contract/pairingProposal.ts';
import type { CellToPair } from './cellToPair.ts';
import type { ResolvedFeature } from './pairingFeatures.ts';

/** Coverage of about 95 % (JCGM 100:2008, 6.3.3): a smaller increase is not significant. */
const COVERAGE = 2;

/** A pair of cells, or a group of more, with what is known about it besides their values. */
export interface PairToDescribe {
  readonly cells: readonly CellToPair[];
  readonly locked: boolean;
  readonly exchange: {
    readonly found: PairExchange;
    readonly nameOf: (index: number) => string;
    readonly other: readonly [string, string];
  } | null;
  readonly bootstrapFrequency: number | null;
}

/** Everything that is shown of one pair or group. */
export function describePair(
  { cells, locked, exchange, bootstrapFrequency }: PairToDescribe,
  features: readonly ResolvedFeature[],
  use: PlannedUse,
): ProposedPair {
  const differences = features.map((feature, f) => describeDifference(cells, feature, f));
  const probabilities = differences.map((difference) => difference.probabilityWithinTolerance);
  const increase = exchange?.found.increase ?? null;
  const uncertainty = exchange?.found.standardUncertainty ?? null;
  return {
    cells: cells.map(({ cell }) => cell),
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
    consequences: describeConsequences(cells, features, use),
  };
}

function describeDifference(
  cells: readonly CellToPair[],
  { used, usualUncertainty }: ResolvedFeature,
  f: number,
): PairDifference {
  const values = cells.map((cell) => cell.values[f]!);
  const uncertainties = cells.map((cell) => cell.standardUncertainties[f] ?? usualUncertainty);
  const known = uncertainties.filter((u) => u !== null);
  const least = cells.length === 2 ? 0 : values.indexOf(Math.min(...values));
  const most = cells.length === 2 ? 1 : values.indexOf(Math.max(...values));
  const difference = values[most] - values[least];
  let cost = 0;
  values.forEach((a, i) => {
    for (const b of values.slice(i + 1)) cost += used.importance * ((b - a) / used.tolerance) ** 2;
  });
  const standardUncertainty = differenceUncertainty(uncertainties[least], uncertainties[most]);
  return {
    feature: used.name,
    unit: used.unit,
    difference,
    inTolerances: Math.abs(difference) / used.tolerance,
    cost,
    standardUncertainty,
    probabilityWithinTolerance:
      known.length < cells.length || standardUncertainty === null
        ? null
        : cells.length === 2
          ? probabilityWithinTolerance(difference, standardUncertainty, used.tolerance)
          : probabilityAllWithin(values, known, used.tolerance),
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
  cells: readonly CellToPair[],
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
  const { limitsCharge, limitsDischarge, ...figures } = groupConsequences(cells.map(known), use);
  const name = (place: number | null) => (place === null ? null : cells[place].cell);
  return { ...figures, limitsCharge: name(limitsCharge), limitsDischarge: name(limitsDischarge) };
}
