import type { PairingResult } from '../../../../server/contract/pairingResult.ts';
import { significant, whole } from '../../format/number.ts';
import { say } from '../../words/i18n.ts';

/** What is proven about the pairing, in plain words with its figures. */
export function PairingProof({ result }: { result: PairingResult }) {
  const c = result.certificate;
  if (c.reason === 'nothing-to-pair') return <p>{say('pairings.thereWasNothingToPair')}</p>;
  if (c.reason === 'heuristic') {
    return (
      <p className="warning">
        {say('pairings.groupsOfMoreThanTwoAre', { totalCost: significant(result.totalCost) })}
        {result.groups !== null &&
          result.groups.gap !== null &&
          say('pairings.noGroupingCanCostLessThan', {
            lowerBound: significant(result.groups.lowerBound),
            gap: significant(result.groups.gap * 100, 2),
          })}
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
