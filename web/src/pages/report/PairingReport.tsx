import { useParams } from 'react-router';
import type { StoredPairing } from '../../../../server/contract/pairings.ts';
import { useRequest } from '../../api/useRequest.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { percent, significant } from '../../format/number.ts';
import { quantity } from '../../format/quantity.ts';
import { instant } from '../../format/time.ts';
import { Cautions } from '../../parts/Cautions.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { Waiting } from '../../parts/Waiting.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { featureWords } from '../../words/quantities.ts';
import { plainCode } from '../../words/reasons.ts';
import { Comparison } from '../pairings/Comparison.tsx';
import { LeftOver } from '../pairings/LeftOver.tsx';
import { namesOf } from '../pairings/namesOf.ts';
import { PairingProof } from '../pairings/PairingProof.tsx';
import { pairScatterPicture, toleranceOf } from '../pairings/pairingPictures.ts';
import { setWords } from '../pairings/setWords.ts';
import { warningSentence } from '../pairings/warnings.ts';
import { Criteria } from './Criteria.tsx';
import { Origin } from './Origin.tsx';
import { ReportPage } from './ReportPage.tsx';

/** The report of a pairing: criteria, proof, pairs, left-over cells, comparison, where the numbers came from. */
export default function PairingReport() {
  const { id = '' } = useParams();
  const pairing = useRequest('/pairings/{id}', { params: { id } });
  const { data } = pairing;
  if (data === undefined)
    return pairing.loading ? <Waiting /> : <Problem error={pairing.error} again={pairing.again} />;
  const made = {
    cells: data.result.cells.length,
    createdAt: instant(data.createdAt),
    createdBy: data.createdBy,
    algorithmName: data.result.algorithm.name,
    version: data.result.algorithm.version,
  };
  return (
    <ReportPage
      title={say('report.reportOfThePairing', { dataName: data.name })}
      within={[{ name: data.name, path: `/pairings/${id}` }]}
      about={
        data.result.criteria.cellsPerStack > 2
          ? say('groups.cellsGroupsBy', { ...made, groups: data.pairs.length })
          : say('report.cellsPairsBy', { ...made, pairs: data.pairs.length })
      }
    >
      <Cautions full />
      <Criteria result={data.result} />
      <h2>{say('report.result')}</h2>
      <PairingProof result={data.result} />
      {data.result.warnings.map((w) => (
        <p key={`${w.code} ${w.feature}`} className="warning">
          {warningSentence(w)}
        </p>
      ))}
      <Pairs pairing={data} />
      <LeftOver result={data.result} />
      <Comparison result={data.result} />
      <Origin kind="pairing" id={data.id} />
    </ReportPage>
  );
}

function Pairs({ pairing }: { pairing: StoredPairing }) {
  const [units] = useUnits();
  const { result, pairs } = pairing;
  const words = setWords(result.criteria.cellsPerStack);
  const [x, y] = result.features;
  const scatter = pairScatterPicture(pairing, x.name, (y ?? x).name, units);
  return (
    <>
      <Sheet
        label={words.title}
        head={[
          words.column,
          say('report.state'),
          say('report.cost'),
          ...result.features.map((f) => say('report.nameDifference', { name: featureWords(f.name) })),
          say('report.usableCapacity'),
          say('report.withinTolerance'),
        ]}
        numeric={[
          2,
          ...result.features.map((_, i) => i + 3),
          result.features.length + 3,
          result.features.length + 4,
        ]}
        rows={pairs.map((pair) => [
          namesOf(pair),
          pair.exchanged
            ? say('report.exchangedByHand', { pairState: plainCode(pair.state) })
            : plainCode(pair.state),
          significant(pair.cost, 3),
          ...result.features.map((feature) => {
            const found = pair.detail.differences.find((d) => d.feature === feature.name);
            return quantity(found?.difference, feature.unit, units, 3);
          }),
          quantity(pair.detail.consequences.usableCapacityAh, 'Ah', units),
          pair.detail.probabilityWithinTolerance === null
            ? '–'
            : percent(pair.detail.probabilityWithinTolerance, 0),
        ])}
      />
      {result.criteria.cellsPerStack > 2 && <p>{say('groups.deltaIsTheLargest')}</p>}
      {scatter !== null && <ChartFigure picture={scatter} height={360} />}
      {result.toleranceChart.length > 1 && (
        <ChartFigure picture={toleranceOf(result)} note={say('report.whatTighteningOrRelaxingAllPair')} />
      )}
    </>
  );
}
