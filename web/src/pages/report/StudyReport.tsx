import { useParams } from 'react-router';
import type { ChargeStudyDescription } from '../../../../server/contract/chargeStudy.ts';
import { useRequest } from '../../api/useRequest.ts';
import { fixed } from '../../format/number.ts';
import { instant } from '../../format/time.ts';
import { Problem } from '../../parts/Problem.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { Waiting } from '../../parts/Waiting.tsx';
import { say } from '../../words/i18n.ts';
import { plainCode } from '../../words/reasons.ts';
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
      title={say('report.reportOfTheChargeStudy', { dataName: data.name })}
      within={[{ name: data.name, path: `/charge-studies/${id}` }]}
      about={
        <>
          {say('report.cellsCreatedAtByCreatedBy', {
            cells: data.description.cells.map((cell) => cell.name).join(' + '),
            createdAt: instant(data.createdAt),
            createdBy: data.createdBy,
          })}
          {data.result !== null && <> · {data.result.algorithm}</>}
        </>
      }
    >
      <Cells description={data.description} />
      {data.result === null ? (
        <p className="warning">{data.error ?? say('report.theStudyHasNotBeenComputed')}</p>
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
      <h2>{say('report.cells')}</h2>
      <Sheet
        label={say('report.cells')}
        head={[
          say('report.cell'),
          say('report.capacityAh'),
          say('report.startSoc'),
          say('report.voltageLimitV'),
          say('report.ratingA'),
          say('report.limitsFrom'),
        ]}
        numeric={[1, 2, 3, 4]}
        rows={cells.map((cell) => [
          cell.name,
          fixed(cell.capacityAh, 4),
          fixed(100 * cell.startSoc, 1),
          Math.min(cell.datasheet.maxVoltageV, stack.cellVoltageLimitV ?? cell.datasheet.maxVoltageV),
          cell.datasheet.maxChargeCurrentA,
          cell.datasheet.defaults ? say('report.partlyCommonPractice') : plainCode('datasheet'),
        ])}
      />
    </>
  );
}
