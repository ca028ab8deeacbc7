import { Button, Group } from '@mantine/core';
import { Link } from 'react-router';
import type { ChangePair, StoredPair, StoredPairing } from '../../../../server/contract/pairings.ts';
import { api } from '../../api/ApiClient.ts';
import { useAction } from '../../api/useAction.ts';
import { useOwnVersions } from '../../api/useOwnVersions.ts';
import { differenceText, differenceUnit } from '../../format/difference.ts';
import { percent, significant } from '../../format/number.ts';
import { quantity } from '../../format/quantity.ts';
import { useNotice } from '../../parts/Notices.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { StateWord } from '../../parts/StateWord.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { featureWords } from '../../words/quantities.ts';
import { plainCode } from '../../words/reasons.ts';
import { SwapForm } from './SwapForm.tsx';
import { useLotOutliers } from './useLotOutliers.ts';

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
  const inTurn = useOwnVersions();
  const decide = useAction(
    ({ pair, state }: { pair: StoredPair; state: Decision }) =>
      inTurn(pair, (version) =>
        api.patch('/pairs/{id}', { params: { id: pair.id }, body: { state }, version }),
      ),
    stale,
    (decided, { pair, state }) =>
      tell({
        text: `${namesOf(pair)}: ${plainCode(state)}.`,
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
      for (const pair of pairs) {
        const given = { params: { id: pair.id }, body: { state: 'accepted' } } as const;
        accepted.push(await inTurn(pair, (version) => api.patch('/pairs/{id}', { ...given, version })));
      }
      return accepted;
    },
    stale,
    (pairs) =>
      tell({
        text: say('pairings.pairsPairsAreAccepted', { pairs: pairs.length }),
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
      tell({
        text: say('pairings.pairsWordPlanned', {
          pairs: pairs.length,
          word: pairs.length === 1 ? say('pairings.stackIs') : say('pairings.stacksAre'),
        }),
      }),
  );
  const { features } = pairing.result;
  const outliers = useLotOutliers(pairing.lotIds);
  const proposed = pairing.pairs.filter((p) => p.state === 'proposed');
  const toPlan = pairing.pairs.filter((p) => p.state === 'accepted' && p.stackId === null);
  return (
    <>
      <div className="actions">
        {proposed.length > 0 && (
          <Button loading={acceptAll.running} onClick={() => acceptAll.run(proposed)}>
            {say('pairings.acceptTheProposed', {
              proposed:
                proposed.length === 1
                  ? say('pairings.proposedPair')
                  : say('pairings.proposedProposedPairs', { proposed: proposed.length }),
            })}
          </Button>
        )}
        {toPlan.length > 0 && (
          <Button loading={plan.running} onClick={() => plan.run(toPlan)}>
            {toPlan.length === 1
              ? say('pairings.plan1Stack')
              : say('pairings.planStacks', { toPlan: toPlan.length })}
          </Button>
        )}
        {pairing.pairs.some((p) => p.stackId !== null) && (
          <Button component={Link} variant="default" to="/stacks">
            {say('pairings.toTheStacks')}
          </Button>
        )}
      </div>
      <Problem error={decide.error ?? acceptAll.error ?? plan.error} />
      <Sheet
        label={say('pairings.pairs')}
        maxHeight={520}
        head={[
          say('pairings.pair2'),
          say('pairings.decide'),
          say('pairings.state'),
          ...features.map((f) => `Δ ${featureWords(f.name)}, ${differenceUnit(f.unit).symbol}`),
          say('pairings.cost'),
          say('pairings.usableCapacity'),
          say('pairings.lossMah'),
          say('pairings.limitsTheCharge'),
          say('pairings.withinTolerance'),
        ]}
        numeric={numericColumns(features.length)}
        rows={pairing.pairs.map((pair) => {
          const found = pair.detail;
          return [
            <span key="open">
              <Button
                size="compact-xs"
                variant={open === String(pair.id) ? 'filled' : 'default'}
                onClick={() => onOpen(open === String(pair.id) ? '' : String(pair.id))}
              >
                {namesOf(pair)}
              </Button>
              <OutlierMark pair={pair} outliers={outliers} />
            </span>,
            <DecisionButtons
              key="decide"
              pair={pair}
              pairing={pairing}
              onDecide={(state) => decide.run({ pair, state })}
            />,
            <span key="state" className="state">
              <StateWord state={pair.state} />
              {pair.locked && say('pairings.locked')}
              {pair.exchanged && say('pairings.exchangedByHand')}
              {found.indistinguishable === true && ' ≈'}
            </span>,
            ...features.map((f) => {
              const d = found.differences.find((x) => x.feature === f.name);
              return d === undefined ? '–' : differenceText(d.difference, d.standardUncertainty, f.unit);
            }),
            significant(pair.cost, 2),
            quantity(found.consequences.usableCapacityAh, 'Ah', units),
            differenceText(found.consequences.capacityLossAh, null, 'Ah'),
            found.consequences.limitsCharge ?? '–',
            found.probabilityWithinTolerance === null ? '–' : percent(found.probabilityWithinTolerance, 0),
          ];
        })}
      />
      {pairing.pairs.some((p) => p.cells.some((c) => outliers.has(c.id))) && (
        <p className="warning">{say('pairings.theCellIsAnOutlierOf')}</p>
      )}
      {pairing.pairs.some((p) => p.detail.indistinguishable === true) && (
        <p>{say('pairings.theMeasurementCannotTellThisPair')}</p>
      )}
    </>
  );
}

/** Places of the columns with numbers, after pair, decision and state. */
function numericColumns(features: number): number[] {
  const after = 3 + features;
  return [...Array(features).keys()].map((i) => 3 + i).concat(after, after + 1, after + 2, after + 4);
}

interface OutlierMarkProps {
  readonly pair: StoredPair;
  readonly outliers: ReadonlyMap<number, readonly string[]>;
}

function OutlierMark({ pair, outliers }: OutlierMarkProps) {
  const found = pair.cells.filter((c) => outliers.has(c.id)).map((c) => c.serial);
  if (found.length === 0) return null;
  return (
    <span title={say('pairings.outlierOfItsLotFound', { found: found.join(', ') })}>
      {' '}
      <span aria-hidden="true">▲</span>
      <span className="for-readers">
        {say('pairings.outlierOfItsLotFound2', { found: found.join(', ') })}
      </span>
    </span>
  );
}

interface DecisionProps {
  readonly pair: StoredPair;
  readonly pairing: StoredPairing;
  readonly onDecide: (state: Decision) => void;
}

function DecisionButtons({ pair, pairing, onDecide }: DecisionProps) {
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

export function namesOf(pair: Pick<StoredPair, 'cells'>): string {
  return pair.cells.map((c) => c.serial).join(say('pairings.with'));
}
