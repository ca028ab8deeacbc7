import { Button } from '@mantine/core';
import { useState } from 'react';
import { Link } from 'react-router';
import type { StoredPair, StoredPairing } from '../../../../server/contract/pairings.ts';
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
import { ChosenPairs } from './ChosenPairs.tsx';
import { type Decision, DecisionButtons } from './DecisionButtons.tsx';
import { namesOf } from './namesOf.ts';
import { setWords } from './setWords.ts';
import { useLotOutliers } from './useLotOutliers.ts';

interface PairTableProps {
  readonly pairing: StoredPairing;
  /** Id of the pair whose details are open. */
  readonly open: string;
  readonly onOpen: (id: string) => void;
}

const stale = ['/pairings', '/stacks', '/cells', '/lots'];

/** The pairs with what each will do, and the decisions about them; each decision can be undone at once. */
export function PairTable({ pairing, open, onOpen }: PairTableProps) {
  const [units] = useUnits();
  const size = pairing.result.criteria.cellsPerStack;
  const words = setWords(size);
  const tell = useNotice();
  const inTurn = useOwnVersions();
  const [chosen, setChosen] = useState<ReadonlySet<number>>(new Set());
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
  const decideMany = useAction(
    async ({ pairs, state }: { pairs: readonly StoredPair[]; state: Decision }) => {
      const decided: StoredPair[] = [];
      for (const pair of pairs) {
        const given = { params: { id: pair.id }, body: { state } } as const;
        decided.push(await inTurn(pair, (version) => api.patch('/pairs/{id}', { ...given, version })));
      }
      return decided;
    },
    stale,
    (decided, { pairs, state }) => {
      setChosen(new Set());
      tell({
        text:
          state === 'accepted' ? words.accepted(pairs.length) : words.decided(pairs.length, plainCode(state)),
        undo: async () => {
          for (const [i, pair] of decided.entries()) {
            const before = pairs[i].state;
            await decide.runAndWait({ pair, state: before === 'built' ? 'accepted' : before });
          }
        },
      });
    },
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
          <Button
            loading={decideMany.running}
            onClick={() => decideMany.run({ pairs: proposed, state: 'accepted' })}
          >
            {say('pairings.acceptTheProposed', {
              proposed: words.proposed(proposed.length),
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
      <ChosenPairs
        pairs={pairing.pairs.filter((p) => chosen.has(p.id) && p.stackId === null)}
        running={decideMany.running}
        onDecide={(pairs, state) => decideMany.run({ pairs, state })}
      />
      <Problem error={decide.error ?? decideMany.error ?? plan.error} />
      <Sheet
        label={words.title}
        maxHeight={520}
        head={[
          words.column,
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
            <span key="open" className="chosen-pair">
              {pair.stackId === null && (
                <label className="choose">
                  <input
                    type="checkbox"
                    aria-label={say('pairings.choosePair', { names: namesOf(pair) })}
                    checked={chosen.has(pair.id)}
                    onChange={() => setChosen(toggled(chosen, pair.id))}
                  />
                </label>
              )}
              <Button
                className={size > 3 ? 'names many' : 'names'}
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
      {size > 2 && <p>{say('groups.deltaIsTheLargest')}</p>}
      {pairing.pairs.some((p) => p.cells.some((c) => outliers.has(c.id))) && (
        <p className="warning">{say('pairings.theCellIsAnOutlierOf')}</p>
      )}
      {pairing.pairs.some((p) => p.detail.indistinguishable === true) && (
        <p>{say('pairings.theMeasurementCannotTellThisPair')}</p>
      )}
    </>
  );
}

function toggled(chosen: ReadonlySet<number>, id: number): ReadonlySet<number> {
  const next = new Set(chosen);
  if (!next.delete(id)) next.add(id);
  return next;
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
