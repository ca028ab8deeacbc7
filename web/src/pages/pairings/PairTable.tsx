import { Button, Group } from '@mantine/core';
import { Link } from 'react-router';
import type { ChangePair, StoredPair, StoredPairing } from '../../../../server/contract/pairings.ts';
import { api } from '../../api/ApiClient.ts';
import { useAction } from '../../api/useAction.ts';
import { percent, significant } from '../../format/number.ts';
import { quantity } from '../../format/quantity.ts';
import { useNotice } from '../../parts/Notices.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { StateWord } from '../../parts/StateWord.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { SwapForm } from './SwapForm.tsx';

interface PairTableProps {
  readonly pairing: StoredPairing;
  /** Id of the pair whose details are open. */
  readonly open: string;
  readonly onOpen: (id: string) => void;
}

type Decision = ChangePair['state'];

const stale = ['/pairings', '/stacks', '/cells', '/lots'];

/** The pairs with what each will do, and the decisions about them; each decision can be undone at once. */
export function PairTable({ pairing, open, onOpen }: PairTableProps) {
  const [units] = useUnits();
  const tell = useNotice();
  const decide = useAction(
    ({ pair, state }: { pair: StoredPair; state: Decision }) =>
      api.patch('/pairs/{id}', { params: { id: pair.id }, body: { state }, version: pair.version }),
    stale,
    (decided, { pair, state }) =>
      tell({
        text: `${namesOf(pair)}: ${state}.`,
        undo: () =>
          decide.runAndWait({
            pair: decided,
            state: pair.state === 'built' ? 'accepted' : pair.state,
          }),
      }),
  );
  const acceptAll = useAction(
    async (pairs: readonly StoredPair[]) => {
      const accepted: StoredPair[] = [];
      for (const { id, version } of pairs)
        accepted.push(
          await api.patch('/pairs/{id}', { params: { id }, body: { state: 'accepted' }, version }),
        );
      return accepted;
    },
    stale,
    (pairs) =>
      tell({
        text: `${pairs.length} pairs are accepted.`,
        undo: async () => {
          for (const pair of pairs) await decide.runAndWait({ pair, state: 'proposed' });
        },
      }),
  );
  const plan = useAction(
    async (pairs: readonly StoredPair[], key) => {
      for (const { id } of pairs)
        await api.post('/stacks', { body: { pairId: id }, idempotencyKey: `${key}-${id}` });
    },
    stale,
    (_, pairs) =>
      tell({ text: `${pairs.length} ${pairs.length === 1 ? 'stack is' : 'stacks are'} planned.` }),
  );
  const proposed = pairing.pairs.filter((p) => p.state === 'proposed');
  const toPlan = pairing.pairs.filter((p) => p.state === 'accepted' && p.stackId === null);
  return (
    <>
      <div className="actions">
        {proposed.length > 0 && (
          <Button loading={acceptAll.running} onClick={() => acceptAll.run(proposed)}>
            Accept the {proposed.length} proposed pairs
          </Button>
        )}
        {toPlan.length > 0 && (
          <Button loading={plan.running} onClick={() => plan.run(toPlan)}>
            Plan stacks of the {toPlan.length} accepted pairs
          </Button>
        )}
        <Button component={Link} variant="default" to="/stacks">
          To the stacks
        </Button>
      </div>
      <Problem error={decide.error ?? acceptAll.error ?? plan.error} />
      <Sheet
        label="Pairs"
        maxHeight={520}
        head={[
          'Pair',
          'Decide',
          'State',
          'Cost',
          'Usable capacity',
          'Capacity loss',
          'Limits the charge',
          'Within tolerance',
        ]}
        numeric={[3, 4, 5, 7]}
        rows={pairing.pairs.map((pair) => {
          const found = pair.detail;
          return [
            <Button
              key="open"
              size="compact-xs"
              variant={open === String(pair.id) ? 'filled' : 'default'}
              onClick={() => onOpen(open === String(pair.id) ? '' : String(pair.id))}
            >
              {namesOf(pair)}
            </Button>,
            <DecisionButtons
              key="decide"
              pair={pair}
              pairing={pairing}
              onDecide={(state) => decide.run({ pair, state })}
            />,
            <span key="state" className="state">
              <StateWord state={pair.state} />
              {pair.locked && ' (locked)'}
              {pair.exchanged && ' (exchanged by hand)'}
              {found.indistinguishable === true && ' ≈'}
            </span>,
            significant(pair.cost, 3),
            quantity(found.consequences.usableCapacityAh, 'Ah', units),
            quantity(found.consequences.capacityLossAh, 'Ah', units, 3),
            found.consequences.limitsCharge ?? '–',
            found.probabilityWithinTolerance === null ? '–' : percent(found.probabilityWithinTolerance, 0),
          ];
        })}
      />
      {pairing.pairs.some((p) => p.detail.indistinguishable === true) && (
        <p>≈: the measurement cannot tell this pair from its next best exchange. Either choice is as good.</p>
      )}
    </>
  );
}

interface DecisionProps {
  readonly pair: StoredPair;
  readonly pairing: StoredPairing;
  readonly onDecide: (state: Decision) => void;
}

function DecisionButtons({ pair, pairing, onDecide }: DecisionProps) {
  const names = namesOf(pair);
  if (pair.stackId !== null) return <Link to={`/stacks/${pair.stackId}`}>to the stack</Link>;
  return (
    <Group gap={4} wrap="nowrap">
      {pair.state !== 'accepted' && (
        <Button
          size="compact-xs"
          variant="default"
          aria-label={`Accept ${names}`}
          onClick={() => onDecide('accepted')}
        >
          Accept
        </Button>
      )}
      {pair.state !== 'rejected' && (
        <Button
          size="compact-xs"
          variant="default"
          aria-label={`Reject ${names}`}
          onClick={() => onDecide('rejected')}
        >
          Reject
        </Button>
      )}
      {pair.state !== 'proposed' && (
        <Button
          size="compact-xs"
          variant="subtle"
          aria-label={`Take back the decision on ${names}`}
          onClick={() => onDecide('proposed')}
        >
          Take back
        </Button>
      )}
      <SwapForm pair={pair} pairing={pairing} />
    </Group>
  );
}

export function namesOf(pair: Pick<StoredPair, 'cells'>): string {
  return pair.cells.map((c) => c.serial).join(' with ');
}
