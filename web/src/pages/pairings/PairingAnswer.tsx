import type { StoredPairing } from '../../../../server/contract/pairings.ts';
import { significant } from '../../format/number.ts';
import { ChangedSince } from '../../parts/ChangedSince.tsx';
import { say } from '../../words/i18n.ts';
import { plainCode } from '../../words/reasons.ts';
import { gapPercent, PairingProof } from './PairingProof.tsx';
import { setWords } from './setWords.ts';

/** The answer of a pairing run in a sentence, what is left to decide, and what the answer depends on. */
export function PairingAnswer({ pairing }: { pairing: StoredPairing }) {
  const { result, pairs, changedSince } = pairing;
  const { certificate } = result;
  const words = setWords(result.criteria.cellsPerStack);
  const gap = certificate.reason === 'heuristic' ? gapPercent(result) : null;
  const count = (state: string) => pairs.filter((p) => p.state === state).length;
  const offered = result.cells.length;
  const left = result.unpaired.length;
  const decided = [
    [count('proposed'), say('pairings.toDecide')],
    [count('accepted'), plainCode('accepted')],
    [count('built'), plainCode('built')],
    [count('rejected'), plainCode('rejected')],
  ]
    .filter(([n]) => n !== 0)
    .map(([n, word]) => `${n} ${word}`);
  return (
    <>
      <ChangedSince changed={changedSince} />
      <p className="answer">
        {say('pairings.pairsWordFromOfferedCells', {
          pairs: pairs.length,
          word: pairs.length === 1 ? words.one : words.many,
          offered,
        })}
        {certificate.proven &&
          (changedSince.length === 0 ? say('pairings.provenBest3') : say('pairings.provenBestAtTheTime'))}
        {certificate.reason === 'heuristic' && say('groups.notProvenBest')}
        {gap !== null && say('groups.atMostCouldBeSaved', { gap: significant(gap, 2) })}
        {decided.length > 0 && `: ${decided.join(', ')}`}
        {left > 0 &&
          say('pairings.leftWordLeftOverUnpaired', {
            left,
            word: left === 1 ? say('pairings.cellIs') : say('pairings.cellsAre'),
            unpaired: namesOf(result.unpaired),
          })}
        .
      </p>
      <details>
        <summary>{certificate.proven ? say('pairings.whatIsProven') : say('pairings.howGoodItIs')}</summary>
        <PairingProof result={result} />
      </details>
    </>
  );
}

function namesOf(unpaired: StoredPairing['result']['unpaired']): string {
  const names = unpaired.slice(0, 4).map((u) => u.cell);
  return unpaired.length > 4
    ? say('pairings.namesAndUnpairedMore', { names: names.join(', '), unpaired: unpaired.length - 4 })
    : names.join(', ');
}
