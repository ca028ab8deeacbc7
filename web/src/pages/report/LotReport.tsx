import { useParams } from 'react-router';
import { useRequest } from '../../api/useRequest.ts';
import { quantity, quantityWithUncertainty } from '../../format/quantity.ts';
import { day } from '../../format/time.ts';
import { Cautions } from '../../parts/Cautions.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { Waiting } from '../../parts/Waiting.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { columnTitle } from '../../words/quantities.ts';
import { plainCode } from '../../words/reasons.ts';
import { ColumnJudgement } from '../lots/ColumnJudgement.tsx';
import { Origin } from './Origin.tsx';
import { ReportPage } from './ReportPage.tsx';

/** Columns that fit on a sheet of paper beside serial and state. */
const mostColumns = 4;

/** The report of a lot: judgement of each column, every cell with its values, where the numbers came from. */
export default function LotReport() {
  const { id = '' } = useParams();
  const [units] = useUnits();
  const lot = useRequest('/lots/{id}', { params: { id } });
  const known = useRequest('/lots/{id}/columns', { params: { id } });
  const keys = known.data?.suggested.slice(0, mostColumns) ?? [];
  const ready = known.data !== undefined;
  const rows = useRequest(ready ? '/lots/{id}/cells' : null, {
    params: { id },
    query: { limit: 5000, columns: keys },
  });
  const statistics = useRequest(ready ? '/lots/{id}/statistics' : null, {
    params: { id },
    query: { columns: keys },
  });
  const failed = [lot, known, rows, statistics].find((request) => request.error !== null);
  if (failed) return <Problem error={failed.error} again={failed.again} />;
  if (!lot.data || !known.data || !rows.data || !statistics.data) return <Waiting />;
  const titleOf = (key: string) => {
    const column = known.data?.columns.find((candidate) => candidate.key === key);
    return column === undefined ? key : columnTitle(column);
  };
  return (
    <ReportPage
      title={say('report.reportOfTheLot', { dataName: lot.data.name })}
      within={[{ name: lot.data.name, path: `/lots/${id}` }]}
      about={
        <>
          {say('report.cellTypeNameRatedRatedCapacity', {
            cellTypeName: lot.data.cellTypeName,
            ratedCapacityAh: quantity(lot.data.ratedCapacityAh, 'Ah', units),
          })}
          {lot.data.receivedOn !== null && (
            <> {say('report.receivedReceivedOn', { receivedOn: day(lot.data.receivedOn) })}</>
          )}{' '}
          {say('report.cellsCellsTestsTests', { cells: lot.data.counts.cells, tests: lot.data.counts.tests })}
        </>
      }
    >
      <Cautions full />
      <h2>{say('report.spreadLimitsAndOutliers')}</h2>
      {statistics.data.columns.map((column) => (
        <ColumnJudgement
          key={column.key}
          lotId={Number(id)}
          title={titleOf(column.key)}
          column={column}
          startsOpen={true}
        />
      ))}
      <h2>{say('report.cells')}</h2>
      <Sheet
        label={say('report.cells')}
        head={[say('report.cell'), say('report.state'), ...keys.map(titleOf)]}
        numeric={keys.map((_, i) => i + 2)}
        rows={rows.data.items.map((row) => [
          row.serial,
          row.stateReason === null ? plainCode(row.state) : `${plainCode(row.state)}: ${row.stateReason}`,
          ...keys.map((key) => {
            const value = row.values[key];
            return quantityWithUncertainty(
              value?.value,
              value?.standardUncertainty,
              value?.unit ?? '',
              units,
            );
          }),
        ])}
      />
      <Origin kind="lot" id={lot.data.id} />
    </ReportPage>
  );
}
