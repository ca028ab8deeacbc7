import { Switch } from '@mantine/core';
import { useRef } from 'react';
import { Link } from 'react-router';
import type { Page } from '../../../../server/contract/common.ts';
import type { Measurement } from '../../../../server/contract/measurements.ts';
import { useRequest } from '../../api/useRequest.ts';
import { significant } from '../../format/number.ts';
import { quantityWithUncertainty } from '../../format/quantity.ts';
import { Problem } from '../../parts/Problem.tsx';
import { useUrlState } from '../../parts/useUrlState.ts';
import { useUnits } from '../../settings/useUnits.ts';
import { useOneStop } from '../../tables/useOneStop.ts';
import { quantityTitle } from '../../words/quantities.ts';
import { reasonSentence } from '../../words/reasons.ts';

/** Everything measured on the cell; each value leads to what it rests on. */
export function CellMeasurements({ cellId }: { cellId: number }) {
  const [superseded, setSuperseded] = useUrlState('superseded', 'no');
  const [units] = useUnits();
  const body = useRef<HTMLTableSectionElement>(null);
  const { data, error, again } = useRequest<Page<Measurement>>(`/cells/${cellId}/measurements`, {
    limit: 500,
    includeSuperseded: superseded === 'yes' ? 'true' : 'false',
  });
  const keys = useOneStop(body);
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
          {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a scrolling region must be reachable by keyboard */}
          <section className="scroll-x measured" tabIndex={0} aria-label="Measured values">
            <table className="plain">
              <thead>
                <tr>
                  <th scope="col">Quantity</th>
                  <th scope="col" className="number">
                    Value
                  </th>
                  <th scope="col" className="number">
                    Temperature
                  </th>
                  <th scope="col" className="number">
                    Cycle
                  </th>
                  <th scope="col">Method</th>
                  <th scope="col">Rests on</th>
                </tr>
              </thead>
              <tbody ref={body} {...keys}>
                {data.items.map((m) => (
                  <tr key={m.id}>
                    <td>{quantityTitle(m)}</td>
                    <td className="number">
                      {m.value === null
                        ? `– ${reasonSentence(m.reason)}`
                        : quantityWithUncertainty(m.value, m.standardUncertainty, m.unit, units)}
                      {m.excludedReason !== null && <> (left out: {reasonSentence(m.excludedReason)})</>}
                      {m.supersededAt !== null && <> (superseded)</>}
                    </td>
                    <td className="number">
                      {m.temperatureC === null ? '–' : `${significant(m.temperatureC, 3)} °C`}
                    </td>
                    <td className="number">{m.cycle ?? '–'}</td>
                    <td>{m.method}</td>
                    <td>
                      <Link to={`/measurements/${m.id}`} aria-label={`origin of ${quantityTitle(m)}`}>
                        origin
                      </Link>
                    </td>
                  </tr>
                ))}
              </tbody>
            </table>
          </section>
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
