import type { PairingResult } from '../../../../server/contract/pairingResult.ts';
import { significant, whole } from '../../format/number.ts';

/** What is proven about the pairing, in plain words with its figures. */
export function PairingProof({ result }: { result: PairingResult }) {
  const c = result.certificate;
  if (c.reason === 'nothing-to-pair') return <p>There was nothing to pair.</p>;
  if (c.reason === 'heuristic') {
    return (
      <p className="warning">
        Groups of more than two are found by a heuristic, which is not proven best. Total cost{' '}
        {significant(result.totalCost)}
        {result.groups !== null && result.groups.gap !== null && (
          <>
            ; no grouping can cost less than {significant(result.groups.lowerBound)}, so the gap is at most{' '}
            {significant(result.groups.gap * 100, 2)} %
          </>
        )}
        .
      </p>
    );
  }
  if (!c.proven) {
    return (
      <p className="warning">The proof did not go through: take this pairing as good, not as the best.</p>
    );
  }
  return (
    <p>
      <strong>Proven best.</strong>{' '}
      {c.mostPairs !== null && <>No pairing has more than {c.mostPairs} acceptable pairs. </>}
      Of those, none costs less in total: the pairs cost {significant(result.totalCost)}, the lower bound is{' '}
      {c.lowerBound === null ? '–' : significant(c.lowerBound)}. Checked after the run over all{' '}
      {whole(c.checkedPairs)} acceptable pairs
      {c.costResolution !== null && <>, with costs rounded to {significant(c.costResolution, 1)}</>}.
    </p>
  );
}
