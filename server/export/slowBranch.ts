import { medianOf } from '../../fitting/numeric/median.ts';
import type { CircuitTable } from '../contract/parameterSet.ts';
import type { PlainRow, padBranches } from './padBranches.ts';

/** The tables of a model as plain rows, with the slow branch where the rests show one. */
export interface PaddedTables {
  readonly tables: readonly PlainRow[][];
  readonly branchCount: number;
  readonly paddedSoc: readonly number[];
  readonly slow: boolean;
}

/** Adds the slow branch of each table as its last; a table without one gets resistance 0 there. */
export function withSlowBranch(
  tables: readonly CircuitTable[],
  padded: ReturnType<typeof padBranches>,
): PaddedTables {
  const branches = padded.tables.map((rows, t) => slowBranch(rows, tables[t].restPolarisations));
  const tau = branches.find((branch) => branch !== null)?.[0].tau;
  if (tau === undefined) return { ...padded, slow: false };
  return {
    ...padded,
    slow: true,
    branchCount: padded.branchCount + 1,
    tables: padded.tables.map((rows, t) =>
      rows.map((row, i) => ({ ...row, branches: [...row.branches, branches[t]?.[i] ?? { r: 0, tau }] })),
    ),
  };
}

/** What the pulses' branches must leave of the whole polarisation for a slow branch to stand for it. Common practice, no source. */
const LEAST_SHARE = 0.03;

type Rests = NonNullable<CircuitTable['restPolarisations']>;

/**
 * A branch for the polarisation that is slower than the pulses: at each state of charge the whole polarisation of the long
 * loads of the same test, as the rests after them show it, less what R0 and the pulses' branches make of it in the time of
 * the load. Its time constant is the median of the rests'. Beyond the outermost rest the edge value holds.
 *
 * @param rows of the table, with the branches of its pulses
 * @returns the branch of each row, resistance 0 where the pulses' branches hold the whole; null where no rest shows any,
 * or what is left is within its uncertainty or below a few percent
 */
function slowBranch(
  rows: readonly PlainRow[],
  rests: Rests | undefined,
): { r: number; tau: number }[] | null {
  if (rests === undefined || rests.length === 0) return null;
  const taus = rests.flatMap(({ tauS }) => (tauS === null ? [] : [tauS]));
  if (taus.length === 0) return null;
  const tau = medianOf(taus);
  const whole = rows.map((row) => wholeAt(rests, row.soc));
  const left = rows.map((row, i) => {
    const fast = row.branches.reduce(
      (sum, branch) => sum + (branch.r > 0 ? branch.r * -Math.expm1(-whole[i].loadS / branch.tau) : 0),
      row.r0,
    );
    return (whole[i].ohm - fast) / -Math.expm1(-whole[i].loadS / tau);
  });
  const least = medianOf(
    whole.map(({ ohm, uncertaintyOhm }) => Math.max(LEAST_SHARE * ohm, 2 * uncertaintyOhm)),
  );
  if (medianOf(left) < least) return null;
  return left.map((r) => ({ r: Math.max(r, 0), tau }));
}

/** The whole polarisation at a state of charge: straight lines between the rests, edges held. */
function wholeAt(rests: Rests, soc: number): { ohm: number; uncertaintyOhm: number; loadS: number } {
  const of = ({ resistance, loadS }: Rests[number]) => ({
    ohm: resistance.value ?? 0,
    uncertaintyOhm: resistance.standardUncertainty ?? 0,
    loadS,
  });
  const above = rests.findIndex((rest) => rest.soc >= soc);
  if (above === 0) return of(rests[0]);
  if (above < 0) return of(rests[rests.length - 1]);
  const [low, high] = [rests[above - 1], rests[above]];
  const share = (soc - low.soc) / (high.soc - low.soc);
  const [a, b] = [of(low), of(high)];
  return {
    ohm: a.ohm + share * (b.ohm - a.ohm),
    uncertaintyOhm: Math.max(a.uncertaintyOhm, b.uncertaintyOhm),
    loadS: a.loadS + share * (b.loadS - a.loadS),
  };
}
