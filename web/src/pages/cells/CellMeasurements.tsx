import { Switch } from '@mantine/core';
import { Link } from 'react-router';
import type { Measurement } from '../../../../server/contract/measurements.ts';
import { useRequest } from '../../api/useRequest.ts';
import { significant } from '../../format/number.ts';
import { quantityWithUncertainty } from '../../format/quantity.ts';
import { Problem } from '../../parts/Problem.tsx';
import { Said } from '../../parts/Said.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { useUrlState } from '../../parts/useUrlState.ts';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { quantityTitle } from '../../words/quantities.ts';
import { reasonSentence } from '../../words/reasons.ts';
import { CountSwitch } from '../measurements/CountSwitch.tsx';

/** Everything measured on the cell; each value leads to its sources. */
export function CellMeasurements({ cellId }: { cellId: number }) {
  const [superseded, setSuperseded] = useUrlState('superseded', 'no');
  const { data, error, again } = useRequest('/cells/{id}/measurements', {
    params: { id: cellId },
    query: {
      limit: 500,
      includeSuperseded: superseded === 'yes' ? 'true' : 'false',
    },
  });
  return (
    <>
      <h2>{say('cells.measured')}</h2>
      <Problem error={error} again={again} />
      {data !== undefined && data.items.length === 0 && <p>{say('cells.nothingYetImportATestOf')}</p>}
      {data !== undefined && data.items.length > 0 && (
        <>
          <Switch
            label={say('cells.withSupersededValues')}
            checked={superseded === 'yes'}
            onChange={(e) => setSuperseded(e.currentTarget.checked ? 'yes' : 'no')}
          />
          <Sheet
            label={say('cells.measuredValues')}
            head={[
              say('cells.quantity'),
              say('cells.value'),
              say('cells.temperature'),
              say('cells.cycle'),
              say('cells.method'),
              say('cells.counts'),
              say('cells.origin'),
            ]}
            numeric={[1, 2, 3]}
            maxHeight={450}
            rows={data.items.map((m) => [
              quantityTitle(m),
              <ValueText key="value" measured={m} />,
              m.temperatureC === null ? '–' : `${significant(m.temperatureC, 3)} °C`,
              m.cycle ?? '–',
              <Said key="method" text={m.method} />,
              m.value === null || m.supersededAt !== null ? '–' : <CountSwitch key="counts" measured={m} />,
              <Link
                key="origin"
                to={`/measurements/${m.id}`}
                aria-label={say('cells.originOfM', { m: quantityTitle(m) })}
              >
                {say('cells.origin2')}
              </Link>,
            ])}
          />
          {data.total > data.items.length && (
            <p>{say('cells.theFirstItemsOfTotalValues', { items: data.items.length, total: data.total })}</p>
          )}
        </>
      )}
    </>
  );
}

function ValueText({ measured: m }: { measured: Measurement }) {
  const [units] = useUnits();
  return (
    <>
      {m.value === null
        ? `– ${reasonSentence(m.reason)}`
        : quantityWithUncertainty(m.value, m.standardUncertainty, m.unit, units)}
      {m.excludedReason !== null && (
        <> {say('cells.leftOutExcludedReason', { excludedReason: reasonSentence(m.excludedReason) })}</>
      )}
      {m.supersededAt !== null && <> {say('cells.superseded')}</>}
    </>
  );
}
