import { buildCandidateGraph, PairList } from './candidateGraph.ts';
import { type CertificateCheck, checkCertificate } from './certificate.ts';
import { leftOverPrice } from './pairCosts.ts';
import type { PairSource } from './pairSource.ts';
import { type Matching, matchSparseGraph } from './sparseMatching.ts';

/** Nearest partners of each cell in the first sparse graph. */
const NEIGHBOURS = 15;
/** Most violated pairs that each cell may add in one round. */
const ADDED_EACH = 4;

/** A best matching of all cells with the check that says so. */
export interface ProvenMatching extends Matching {
  readonly check: CertificateCheck;
  /** Times the sparse graph was solved. */
  readonly rounds: number;
  readonly candidatePairs: number;
}

/**
 * As many acceptable pairs as possible at the least total cost, over the complete graph: solved on a sparse graph of
 * near neighbours, priced over all pairs, and solved again with the violated pairs until there is none. Each round
 * adds pairs, so it ends; the separate check then confirms the answer.
 *
 * @param neighbours nearest partners of each cell in the first graph; changes the time, never the total.
 */
export function matchProvenBest(source: PairSource, neighbours = NEIGHBOURS): ProvenMatching {
  const { costs } = source;
  const pairs = new PairList(costs.count, costs.count * neighbours);
  source.addNearest(pairs, neighbours);
  const leftOver = leftOverPrice(costs);
  for (let rounds = 1; ; rounds++) {
    const matching = matchSparseGraph(buildCandidateGraph(costs, pairs), leftOver);
    if (source.addViolated(pairs, matching.dual, ADDED_EACH) > 0) continue;
    const check = checkCertificate(costs, matching);
    return { ...matching, check, rounds, candidatePairs: pairs.size };
  }
}
