import { MultiSelect } from '@mantine/core';
import { useQueries } from '@tanstack/react-query';
import { api } from '../../api/ApiClient.ts';
import { useRequest } from '../../api/useRequest.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { Cautions } from '../../parts/Cautions.tsx';
import { Empty } from '../../parts/Empty.tsx';
import { PageHead } from '../../parts/PageHead.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { useUrlState } from '../../parts/useUrlState.ts';
import { ChargeFigures } from './ChargeFigures.tsx';
import { boundPicture, cellPicture, stackPictures } from './studyPictures.ts';

/** Up to four studies side by side. */
export default function CompareChargeStudiesPage() {
  const [text, setText] = useUrlState('ids');
  const ids = text
    .split(',')
    .filter((id) => /^\d+$/.test(id))
    .slice(0, 4);
  const list = useRequest('/charge-studies', { query: { limit: 500 } });
  const studies = useQueries({
    queries: ids.map((id) => ({
      queryKey: [`/charge-studies/${id}`, {}],
      queryFn: ({ signal }: { signal: AbortSignal }) =>
        api.get('/charge-studies/{id}', { params: { id }, signal }),
    })),
  });
  const charges = studies.flatMap(({ data }) =>
    data === undefined || data.result === null ? [] : [{ id: data.id, name: data.name, result: data.result }],
  );
  return (
    <>
      <PageHead
        title="Charge studies side by side"
        within={[{ name: 'Charge studies', path: '/charge-studies' }]}
      />
      <MultiSelect
        label="Up to four studies"
        maxValues={4}
        data={list.data?.items.map((s) => ({ value: String(s.id), label: s.name })) ?? []}
        value={ids}
        onChange={(next) => setText(next.join(','))}
      />
      <Problem error={list.error} again={list.again} />
      {charges.length === 0 ? (
        <Empty title="Nothing to compare yet">
          <p>Choose two to four studies above.</p>
        </Empty>
      ) : (
        <>
          <Cautions />
          <ChargeFigures charges={charges} />
          <div className="charts">
            <ChartFigure
              picture={cellPicture(
                'Voltage of each cell',
                { label: 'Voltage', unit: 'V' },
                charges,
                'voltageV',
              )}
            />
            {stackPictures(charges).map((picture) => (
              <ChartFigure key={picture.title} picture={picture} />
            ))}
            <ChartFigure
              picture={cellPicture(
                'Temperature',
                { label: 'Temperature', unit: '°C' },
                charges,
                'temperatureC',
              )}
            />
            {charges.map((c) => {
              const picture = boundPicture(c.result);
              return (
                <ChartFigure
                  key={c.id}
                  picture={{ ...picture, title: `${c.name}: ${picture.title}` }}
                  zoom={false}
                />
              );
            })}
          </div>
        </>
      )}
    </>
  );
}
