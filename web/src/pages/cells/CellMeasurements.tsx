import { Switch } from '@mantine/core';
import { Link } from 'react-router';
import type { Measurement } from '../../../../server/contract/measurements.ts';
import { useRequest } from '../../api/useRequest.ts';
import { significant } from '../../format/number.ts';
import { quantityWithUncertainty } from '../../format/quantity.ts';
import { Problem } from '../../parts/Problem.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { useUrlState } from '../../parts/useUrlState.ts';
import { useUnits } from '../../settings/useUnits.ts';
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
      <h2>Measured</h2>
      <Problem error={error} again={again} />
      {data !== undefined && data.items.length === 0 && (
        <p>Nothing yet: import a test of this cell, or evaluate the ones that are there.</p>
      )}
      {data !== undefined && data.items.length > 0 && (
        <>
          <Switch
            label="With superseded values"
            checked={superseded === 'yes'}
            onChange={(e) => setSuperseded(e.currentTarget.checked ? 'yes' : 'no')}
          />
          <Sheet
            label="Measured values"
            head={['Quantity', 'Value', 'Temperature', 'Cycle', 'Method', 'Counts', 'Origin']}
            numeric={[1, 2, 3]}
            maxHeight={450}
            rows={data.items.map((m) => [
              quantityTitle(m),
              <ValueText key="value" measured={m} />,
              m.temperatureC === null ? '–' : `${significant(m.temperatureC, 3)} °C`,
              m.cycle ?? '–',
              m.method,
              m.value === null || m.supersededAt !== null ? '–' : <CountSwitch key="counts" measured={m} />,
              <Link key="origin" to={`/measurements/${m.id}`} aria-label={`origin of ${quantityTitle(m)}`}>
                origin
              </Link>,
            ])}
          />
          {data.total > data.items.length && (
            <p>
              The first {data.items.length} of {data.total} values. The export of the cell has all.
            </p>
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
      {m.excludedReason !== null && <> (left out: {reasonSentence(m.excludedReason)})</>}
      {m.supersededAt !== null && <> (superseded)</>}
    </>
  );
}
