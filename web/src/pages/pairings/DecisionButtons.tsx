import { Button, Group } from '@mantine/core';
import { Link } from 'react-router';
import type { ChangePair, StoredPair, StoredPairing } from '../../../../server/contract/pairings.ts';
import { say } from '../../words/i18n.ts';
import { namesOf } from './namesOf.ts';
import { SwapForm } from './SwapForm.tsx';

export type Decision = ChangePair['state'];

interface DecisionProps {
  readonly pair: StoredPair;
  readonly pairing: StoredPairing;
  readonly onDecide: (state: Decision) => void;
}

/** What can be decided about a pair beside it; once it is in a stack, the way there. */
export function DecisionButtons({ pair, pairing, onDecide }: DecisionProps) {
  const names = namesOf(pair);
  if (pair.stackId !== null) return <Link to={`/stacks/${pair.stackId}`}>{say('pairings.toTheStack')}</Link>;
  return (
    <Group gap={4} wrap="nowrap">
      {pair.state !== 'accepted' && (
        <Button
          size="compact-xs"
          variant="default"
          aria-label={say('pairings.acceptNames', { names })}
          onClick={() => onDecide('accepted')}
        >
          {say('pairings.accept')}
        </Button>
      )}
      {pair.state !== 'rejected' && (
        <Button
          size="compact-xs"
          variant="default"
          aria-label={say('pairings.rejectNames', { names })}
          onClick={() => onDecide('rejected')}
        >
          {say('pairings.reject')}
        </Button>
      )}
      {pair.state !== 'proposed' && (
        <Button
          size="compact-xs"
          variant="subtle"
          aria-label={say('pairings.takeBackTheDecisionOnNames', { names })}
          onClick={() => onDecide('proposed')}
        >
          {say('pairings.takeBack')}
        </Button>
      )}
      <SwapForm pair={pair} pairing={pairing} />
    </Group>
  );
}
