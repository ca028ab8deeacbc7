import type { StoredPairing } from '../../../../server/contract/pairings.ts';
import { ChangedSince } from '../../parts/ChangedSince.tsx';
import { PairingProof } from './PairingProof.tsx';

/** The answer of a pairing run in a sentence, what is left to decide, and what the answer depends on. */
export function PairingAnswer({ pairing }: { pairing: StoredPairing }) {
  const { result, pairs, changedSince } = pairing;
  const { certificate } = result;
  const count = (state: string) => pairs.filter((p) => p.state === state).length;
  const offered = result.cells.length;
  const left = result.unpaired.length;
  const decided = [
    [count('proposed'), 'to decide'],
    [count('accepted'), 'accepted'],
    [count('built'), 'built'],
    [count('rejected'), 'rejected'],
  ]
    .filter(([n]) => n !== 0)
    .map(([n, word]) => `${n} ${word}`);
  return (
    <>
      <ChangedSince changed={changedSince} />
      <p className="answer">
        {pairs.length} {pairs.length === 1 ? 'pair' : 'pairs'} from {offered} cells
        {certificate.proven && (changedSince.length === 0 ? ', proven best' : ', proven best at the time')}
        {decided.length > 0 && `: ${decided.join(', ')}`}
        {left > 0 &&
          `; ${left} ${left === 1 ? 'cell is' : 'cells are'} left over (${namesOf(result.unpaired)})`}
        .
      </p>
      <details>
        <summary>{certificate.proven ? 'What is proven' : 'How good it is'}</summary>
        <PairingProof result={result} />
      </details>
    </>
  );
}

function namesOf(unpaired: StoredPairing['result']['unpaired']): string {
  const names = unpaired.slice(0, 4).map((u) => u.cell);
  return unpaired.length > 4 ? `${names.join(', ')} and ${unpaired.length - 4} more` : names.join(', ');
}
