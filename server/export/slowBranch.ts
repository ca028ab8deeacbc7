import { medianOf } from '../../fitting/numeric/index.ts';
import type { CircuitTable } from '../contract/parameterSet.ts';
import type { PlainRow, padBranches } from './padBranches.ts';

/** The tables of a model as plain rows, with the slow branches where the rests show any. */
export interface PaddedTables {
  readonly tables: readonly PlainRow[][];
  readonly branchCount: number;
  readonly paddedSoc: readonly number[];
  readonly slow: boolean;
}

/** Adds the slow branches of each table as its last; a table without one gets resistance 0 there. */
export function withSlowBranches(
  tables: readonly CircuitTable[],
  padded: ReturnType<typeof padBranches>,
): PaddedTables {
  const found = padded.tables.map((rows, t) => slowBranches(rows, tables[t].restPolarisations));
  const most = found.reduce((a, b) => (b.length > a.length ? b : a), []);
  if (most.length === 0) return { ...padded, slow: false };
  return {
    ...padded,
    slow: true,
    branchCount: padded.branchCount + most.length,
    tables: padded.tables.map((rows, t) =>
      rows.map((row, i) => ({
        ...row,
        branches: [
          ...row.branches,
          ...most.map(({ tau }, j) => ({ r: found[t][j]?.r[i] ?? 0, tau: found[t][j]?.tau ?? tau })),
        ],
      })),
    ),
  };
}

/** Share of the whole polarisation that the pulses' branches must leave for a slow branch to represent it. Common practice, no source. */
const LEAST_SHARE = 0.03;

type Rests = NonNullable<CircuitTable['restPolarisations']>;

/** A slow branch with the resistance of each row of a table. */
interface SlowBranch {
  readonly tau: number;
  readonly r: readonly number[];
}

/**
 * The branches for the polarisation that is slower than the pulses. Each rest after a long load shows the whole polarisation
 * of that load; what R0 and the pulses' branches make of it in the time of the load is taken off, and what is left belongs to
 * the slow processes: the slowest has the resistance that the rests' relaxation shows, the other the remainder. Between the
 * rests the resistances lie on straight lines, beyond the outermost they hold: there the pulses show the fast part, and the
 * nearest rest the slow one.
 *
 * @param rows of the table, with the branches of its pulses
 * @returns none where no rest shows any, or what is left is within its uncertainty or below a few percent
 */
function slowBranches(rows: readonly PlainRow[], rests: Rests | undefined): SlowBranch[] {
  if (rests === undefined || rests.length === 0) return [];
  const taus = slowTaus(rests);
  if (taus.length === 0) return [];
  const left = rests.map((rest) => leftOfRest(rest, rows, taus));
  const least = medianOf(
    rests.map(({ resistance }) =>
      Math.max(LEAST_SHARE * (resistance.value ?? 0), 2 * (resistance.standardUncertainty ?? 0)),
    ),
  );
  if (medianOf(left.map((one) => one.reduce((sum, r) => sum + r, 0))) < least) return [];
  const soc = rests.map((rest) => rest.soc);
  return taus.map((tau, j) => {
    const values = left.map((one) => Math.max(0, one[j]));
    return { tau, r: rows.map((row) => held(soc, values, row.soc)) };
  });
}

/** The time constants that the rests share, ascending; of older evaluations the median of the rests' own. */
function slowTaus(rests: Rests): number[] {
  const shared = rests.find(({ slow }) => slow !== undefined && slow.length > 0)?.slow;
  if (shared !== undefined) return shared.map(({ tauS }) => tauS);
  const own = rests.flatMap(({ tauS }) => (tauS === null ? [] : [tauS]));
  return own.length === 0 ? [] : [medianOf(own)];
}

/** Resistance of each slow process at a rest's state of charge; below 0 where the pulses' branches hold more than the whole. */
function leftOfRest(
  { soc, loadS, resistance, slow }: Rests[number],
  rows: readonly PlainRow[],
  taus: readonly number[],
): number[] {
  const built = (tau: number): number => -Math.expm1(-loadS / tau);
  const at = (pick: (row: PlainRow) => number): number =>
    held(
      rows.map((row) => row.soc),
      rows.map(pick),
      soc,
    );
  const quick = at((row) =>
    row.branches.reduce((sum, { r, tau }) => sum + (r > 0 ? r * built(tau) : 0), row.r0),
  );
  const slowest = taus.slice(1).map((_, j) => slow?.[j + 1]?.resistanceOhm ?? 0);
  const others = slowest.reduce((sum, r, j) => sum + r * built(taus[j + 1]), 0);
  return [((resistance.value ?? 0) - quick - others) / built(taus[0]), ...slowest];
}

/** Straight line between the points, ascending in SOC; outside, the edge value. */
function held(soc: readonly number[], values: readonly number[], z: number): number {
  const above = soc.findIndex((one) => one >= z);
  if (above === 0) return values[0];
  if (above < 0) return values[values.length - 1];
  const share = (z - soc[above - 1]) / (soc[above] - soc[above - 1]);
  return values[above - 1] + share * (values[above] - values[above - 1]);
}
