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
import { say } from '../../words/i18n.ts';
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
        title={say('charge.chargeStudiesSideBySide')}
        within={[{ name: say('charge.chargeStudies'), path: '/charge-studies' }]}
      />
      <MultiSelect
        label={say('charge.upToFourStudies')}
        maxValues={4}
        data={list.data?.items.map((s) => ({ value: String(s.id), label: s.name })) ?? []}
        value={ids}
        onChange={(next) => setText(next.join(','))}
      />
      <Problem error={list.error} again={list.again} />
      {charges.length === 0 ? (
        <Empty title={say('charge.nothingToCompareYet')}>
          <p>{say('charge.chooseTwoToFourStudiesAbove')}</p>
        </Empty>
      ) : (
        <>
          <Cautions />
          <ChargeFigures charges={charges} />
          <div className="charts">
            <ChartFigure
              picture={cellPicture(
                say('charge.voltageOfEachCell'),
                { label: say('charge.voltage'), unit: 'V' },
                charges,
                'voltageV',
              )}
            />
            {stackPictures(charges).map((picture) => (
              <ChartFigure key={picture.title} picture={picture} />
            ))}
            <ChartFigure
              picture={cellPicture(
                say('charge.temperature'),
                { label: say('charge.temperature'), unit: '°C' },
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
