import { useParams } from 'react-router';
import type { ChargeStudyDescription } from '../../../../server/contract/chargeStudy.ts';
import { useRequest } from '../../api/useRequest.ts';
import { instant } from '../../format/time.ts';
import { Problem } from '../../parts/Problem.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { Waiting } from '../../parts/Waiting.tsx';
import { StudyResult } from '../charge/StudyResult.tsx';
import { Origin } from './Origin.tsx';
import { ReportPage } from './ReportPage.tsx';

/** The report of a charge study: what was asked, what came out, where the parameters came from. */
export default function StudyReport() {
  const { id = '' } = useParams();
  const study = useRequest('/charge-studies/{id}', { params: { id } });
  const { data } = study;
  if (data === undefined)
    return study.loading ? <Waiting /> : <Problem error={study.error} again={study.again} />;
  return (
    <ReportPage
      title={`Report of the charge study ${data.name}`}
      within={[{ name: data.name, path: `/charge-studies/${id}` }]}
      about={
        <>
          {data.description.cells.map((cell) => cell.name).join(' + ')} · {instant(data.createdAt)}, by{' '}
          {data.createdBy}
          {data.result !== null && <> · {data.result.algorithm}</>}
        </>
      }
    >
      <Cells description={data.description} />
      {data.result === null ? (
        <p className="warning">{data.error ?? 'The study has not been computed yet.'}</p>
      ) : (
        <StudyResult
          onPaper
          result={data.result}
          name={data.name}
          voltageLimitV={
            data.description.stack.cellVoltageLimitV ?? data.description.cells[0].datasheet.maxVoltageV
          }
        />
      )}
      {data.stackId !== null ? (
        <Origin kind="stack" id={data.stackId} />
      ) : (
        data.cellIds.map((cellId) => <Origin key={cellId} kind="cell" id={cellId} />)
      )}
    </ReportPage>
  );
}

/** The cells with their limits; the rest of what was asked stands with the result. */
function Cells({ description }: { description: ChargeStudyDescription }) {
  const { stack, cells } = description;
  return (
    <>
      <h2>Cells</h2>
      <Sheet
        label="Cells"
        head={['Cell', 'Capacity, Ah', 'Start SOC, %', 'Voltage limit, V', 'Rating, A', 'Limits from']}
        numeric={[1, 2, 3, 4]}
        rows={cells.map((cell) => [
          cell.name,
          cell.capacityAh.toFixed(4),
          (100 * cell.startSoc).toFixed(1),
          Math.min(cell.datasheet.maxVoltageV, stack.cellVoltageLimitV ?? cell.datasheet.maxVoltageV),
          cell.datasheet.maxChargeCurrentA,
          cell.datasheet.defaults ? 'partly common practice' : 'datasheet',
        ])}
      />
    </>
  );
}
