import { Button } from '@mantine/core';
import type { StoredPair } from '../../../../server/contract/pairings.ts';
import { say } from '../../words/i18n.ts';
import type { Decision } from './DecisionButtons.tsx';
import { setWords } from './setWords.ts';

interface ChosenPairsProps {
  /** The chosen pairs that can still be decided about. */
  readonly pairs: readonly StoredPair[];
  readonly running: boolean;
  readonly onDecide: (pairs: readonly StoredPair[], state: Decision) => void;
}

/** One decision for all chosen pairs; a pair that is decided so already is left as it is. */
export function ChosenPairs({ pairs, running, onDecide }: ChosenPairsProps) {
  if (pairs.length === 0) return null;
  const words = setWords(pairs[0].cells.length);
  const decisions: readonly { readonly state: Decision; readonly text: string }[] = [
    { state: 'accepted', text: words.acceptChosen },
    { state: 'rejected', text: words.rejectChosen },
    { state: 'proposed', text: words.takeBackChosen },
  ];
  const open = decisions
    .map((one) => ({ ...one, pairs: pairs.filter((p) => p.state !== one.state) }))
    .filter((one) => one.pairs.length > 0);
  return (
    <div className="actions">
      {say('pairings.chosenPairs', { chosen: pairs.length })}
      {open.map(({ state, text, pairs: changed }) => (
        <Button
          key={state}
          size="xs"
          variant="default"
          loading={running}
          onClick={() => onDecide(changed, state)}
        >
          {text}
        </Button>
      ))}
    </div>
  );
}
