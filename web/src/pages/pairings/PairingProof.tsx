import type { PairingResult } from '../../../../server/contract/pairingResult.ts';
import { significant, whole } from '../../format/number.ts';
import { say } from '../../words/i18n.ts';

/** How much the best grouping can cost less at most, % of the total; null where there is no bound or nothing to save. */
export function gapPercent({ totalCost, certificate }: PairingResult): number | null {
  const { lowerBound } = certificate;
  return lowerBound === null || !(totalCost > 0) ? null : (100 * (totalCost - lowerBound)) / totalCost;
}

/** What is proven about the pairing, in plain words with its figures. */
export function PairingProof({ result }: { result: PairingResult }) {
  const c = result.certificate;
  if (c.reason === 'nothing-to-pair') return <p>{say('pairings.thereWasNothingToPair')}</p>;
  if (c.reason === 'heuristic') {
    const gap = gapPercent(result);
    return (
      <p className="warning">
        {say('groups.aSearchNotProven', { totalCost: significant(result.totalCost) })}
        {gap !== null &&
          c.lowerBound !== null &&
          say('groups.provenBound', { lowerBound: significant(c.lowerBound), gap: significant(gap, 2) })}
        .
      </p>
    );
  }
  if (!c.proven) {
    return <p className="warning">{say('pairings.theProofDidNotGoThrough')}</p>;
  }
  return (
    <p>
      <strong>{say('pairings.provenBest2')}</strong>{' '}
      {c.mostPairs !== null && (
        <>{say('pairings.noPairingHasMoreThanAcceptable', { mostPairs: c.mostPairs })} </>
      )}
      {say('pairings.ofThoseNoneCostsLessIn', {
        totalCost: significant(result.totalCost),
        lowerBound: c.lowerBound === null ? '–' : significant(c.lowerBound),
        checkedPairs: whole(c.checkedPairs),
      })}
      {c.costResolution !== null &&
        say('pairings.withCostsRoundedTo', {
          costResolution: significant(c.costResolution, 1),
        })}
      .
    </p>
  );
}
