import { buildCandidateGraph, PairList } from './candidateGraph.ts';
import { type CertificateCheck, checkCertificate } from './certificate.ts';
import { leftOverPrice } from './pairCosts.ts';
import type { PairSource } from './pairSource.ts';
import { type Matching, matchSparseGraph } from './sparseMatching.ts';

/** Nearest partners of each cell in the first sparse graph. */
const NEIGHBOURS = 15;
/** Most violated pairs that each cell may add in one round. */
const ADDED_EACH = 4;

/** A best matching as found, before anything is claimed of it. */
export interface FoundMatching extends Matching {
  /** Times the sparse graph was solved. */
  readonly rounds: number;
  readonly candidatePairs: number;
}

/** A best matching of all cells with the check that says so. */
export interface ProvenMatching extends FoundMatching {
  readonly check: CertificateCheck;
}

/**
 * As many acceptable pairs as possible at the least total cost, over the complete graph: solved on a sparse graph of
 * near neighbours, priced over all pairs, and solved again with the violated pairs until there is none. Each round
 * adds pairs, so it ends.
 *
 * @param neighbours nearest partners of each cell in the first graph; changes the time, never the total.
 */
export function matchBest(source: PairSource, neighbours = NEIGHBOURS): FoundMatching {
  const { costs } = source;
  const pairs = new PairList(costs.count, costs.count * neighbours);
  source.addNearest(pairs, neighbours);
  const leftOver = leftOverPrice(costs);
  for (let rounds = 1; ; rounds++) {
    const matching = matchSparseGraph(buildCandidateGraph(costs, pairs), leftOver);
    if (source.addViolated(pairs, matching.dual, ADDED_EACH) === 0)
      return { ...matching, rounds, candidatePairs: pairs.size };
  }
}

/** The best matching, and what the separate check over all pairs says of it. */
export function matchProvenBest(source: PairSource, neighbours = NEIGHBOURS): ProvenMatching {
  const matching = matchBest(source, neighbours);
  return { ...matching, check: checkCertificate(source.costs, matching) };
}

/** The pairs of a matching, lower index first, in the order of the lower indices. */
export function pairsOf(partner: Int32Array): [number, number][] {
  const pairs: [number, number][] = [];
  partner.forEach((b, a) => {
    if (b > a) pairs.push([a, b]);
  });
  return pairs;
}
