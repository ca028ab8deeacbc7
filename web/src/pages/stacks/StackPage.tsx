import { Link, useParams } from 'react-router';
import type { Stack } from '../../../../server/contract/stacks.ts';
import { useRequest } from '../../api/useRequest.ts';
import { quantityWithUncertainty } from '../../format/quantity.ts';
import { day } from '../../format/time.ts';
import { Cautions } from '../../parts/Cautions.tsx';
import { ChangedSince } from '../../parts/ChangedSince.tsx';
import { History } from '../../parts/History.tsx';
import { Notes } from '../../parts/Notes.tsx';
import { PageHead } from '../../parts/PageHead.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { StateWord } from '../../parts/StateWord.tsx';
import { Waiting } from '../../parts/Waiting.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { featureWords } from '../../words/quantities.ts';
import { CellAgeing } from '../cells/CellAgeing.tsx';
import { PrintSheets } from './PrintSheets.tsx';
import { StackActions } from './StackActions.tsx';
import { StackLife } from './StackLife.tsx';
import { StackLogs } from './StackLogs.tsx';
import { stackTitle } from './stackTitle.ts';
import { TravellerList } from './TravellerList.tsx';
import { TravellerResults } from './TravellerResults.tsx';

/** Whether the values that the cells were chosen by still hold. */
function StackGround({ pairingId, stack }: { pairingId: number; stack: Stack }) {
  const { data } = useRequest('/pairings/{id}', { params: { id: pairingId } });
  const own = data?.changedSince.filter((c) => stack.cells.some((cell) => cell.cellId === c.cellId));
  return <ChangedSince changed={own ?? []} />;
}

export default function StackPage() {
  const { id = '' } = useParams();
  const [units] = useUnits();
  const stack = useRequest('/stacks/{id}', { params: { id } });
  const { data } = stack;
  if (data === undefined)
    return stack.loading ? <Waiting /> : <Problem error={stack.error} again={stack.again} />;
  const keys = [...new Set(data.cells.flatMap((c) => Object.keys(c.chosenBy)))];
  return (
    <>
      <div className="not-print">
        <PageHead
          title={stackTitle(data.name)}
          within={[
            { name: say('stacks.stacks'), path: '/stacks' },
            ...(data.pairingId === null
              ? []
              : [
                  {
                    name: say('stacks.pairingPairingId', { pairingId: data.pairingId }),
                    path: `/pairings/${data.pairingId}`,
                  },
                ]),
          ]}
          about={
            <>
              <StateWord state={data.state} />
              {data.builtAt !== null && <> {day(data.builtAt)}</>}
              {data.checkUpDueAt !== null && (
                <> {say('stacks.checkUpDueCheckUpDue', { checkUpDueAt: day(data.checkUpDueAt) })}</>
              )}
              {data.note !== '' && <p>{data.note}</p>}
            </>
          }
          actions={<StackActions stack={data} />}
        />
        {data.state !== 'planned' && <StackLife stackId={data.id} />}
        {data.pairingId !== null && <StackGround pairingId={data.pairingId} stack={data} />}
        <h2>{say('stacks.cellsAndTheValuesTheyWere')}</h2>
        <Sheet
          label={say('stacks.cellsOfTheStack')}
          head={[say('stacks.place'), say('stacks.cell'), say('stacks.lot'), ...keys.map(featureWords)]}
          numeric={[0, ...keys.map((_, i) => 3 + i)]}
          rows={data.cells.map((c) => [
            c.position,
            <Link key="cell" to={`/cells/${c.cellId}`}>
              {c.serial}
            </Link>,
            <Link key="lot" to={`/lots/${c.lotId}`}>
              {c.lotName}
            </Link>,
            ...keys.map((key) => {
              const held = c.chosenBy[key];
              return held === undefined
                ? '–'
                : quantityWithUncertainty(held.value, held.standardUncertainty, held.unit, units);
            }),
          ])}
        />
        {data.state !== 'planned' &&
          data.cells.map((c) => (
            <CellAgeing
              key={c.cellId}
              cell={{ id: c.cellId, serial: c.serial, lotId: c.lotId }}
              title={say('stacks.serialOverLife', { serial: c.serial })}
            />
          ))}
        {data.state !== 'planned' && <StackLogs stackId={data.id} />}
        <Cautions />
        <TravellerList stackId={data.id} />
        {data.state !== 'retired' && <TravellerResults stack={data} />}
        <Notes of="stacks" id={data.id} />
        <History of="stacks" id={data.id} />
      </div>
      <PrintSheets stacks={[data]} />
    </>
  );
}
