import { lifeFactor, type StressRegression, stressRegression } from '../../../fitting/ageing/index.ts';
import type { AgeingCell, StressDependence } from '../../contract/ageingResult.ts';
import type { AgeingQuantityName } from '../../contract/ageingTrack.ts';

/** Stress of each cell: named terms with a unit, and their values by cell. */
export interface StressInput {
  readonly terms: readonly { readonly name: string; readonly unit: string }[];
  readonly values: ReadonlyMap<string, readonly number[]>;
}

/** Share of the left-out variance of ln life from which on a dependence may be used, and below which it tells nothing. */
const USABLE = 0.6;
const WEAK = 0.3;

/**
 * Life against stress over the cells that reached the first limit of the quantity and began new. The verdict is based on
 * the variance explained with each cell left out: `usable` from 60 %, `weak` from 30 %, else `cannot-tell`.
 */
export function assessStress(
  cells: readonly AgeingCell[],
  stress: StressInput,
  quantity: AgeingQuantityName,
): StressDependence {
  const index = cells[0]?.limits.findIndex((limit) => limit.quantity === quantity) ?? -1;
  const limitName = cells[0]?.limits[index]?.name ?? '';
  const usable = cells.flatMap((cell) => {
    const life = cell.limits[index]?.crossedAt ?? null;
    const terms = stress.values.get(cell.cell);
    return life === null || terms === undefined || cell.series.carriedOver
      ? []
      : [{ cell: cell.cell, life, terms }];
  });
  const nothing = {
    response: 'ln-life' as const,
    limitName,
    explainedVarianceLeftOut: null,
    residualSd: null,
  };
  if (stress.terms.length === 0 || usable.length === 0) {
    const reason = stress.terms.length === 0 ? ('no-stress-columns' as const) : ('too-few-cells' as const);
    return { ...nothing, cells: [], terms: [], verdict: 'cannot-tell', reason };
  }
  const regression = stressRegression(
    usable,
    stress.terms.map((term) => term.name),
  );
  const explained = regression.explainedVarianceLeftOut;
  const verdict =
    explained === null || explained < WEAK ? 'cannot-tell' : explained < USABLE ? 'weak' : 'usable';
  return {
    ...nothing,
    cells: usable.map(({ cell, life }, i) => {
      const logLife = regression.leftOut[i];
      return { cell, life, predictedLeftOut: logLife === null ? null : Math.exp(logLife) };
    }),
    terms: regression.terms.map((term, j) => ({
      ...term,
      unit: stress.terms[j].unit,
      effect: effectOf(regression, j),
    })),
    explainedVarianceLeftOut: explained,
    residualSd: regression.residualSd,
    verdict,
    reason: regression.reason ?? (verdict === 'usable' ? null : 'left-out-variance-low'),
  };
}

/** What the whole range of one term does to life, the other terms held at the start of their ranges. */
function effectOf(regression: StressRegression, term: number): StressDependence['terms'][number]['effect'] {
  const from = regression.terms.map(({ validFrom }) => validFrom);
  const to = from.map((value, j) => (j === term ? regression.terms[j].validTo : value));
  const { factor, low, high, level } = lifeFactor(regression, from, to);
  return { factor, low, high, level };
}
