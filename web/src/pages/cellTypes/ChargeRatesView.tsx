import { Link } from 'react-router';
import { furtherCautions } from '../../../../server/contract/cautions.ts';
import type { ChargeRateEntry, ChargeRates } from '../../../../server/contract/chargeRates.ts';
import { useRequest } from '../../api/useRequest.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { significant } from '../../format/number.ts';
import { quantity } from '../../format/quantity.ts';
import { Cautions } from '../../parts/Cautions.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { Waiting } from '../../parts/Waiting.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { cautionSentence } from '../../words/cautions.ts';
import { rateBindingWords } from '../../words/charge.ts';
import { say } from '../../words/i18n.ts';
import { plainCode, reasonSentence } from '../../words/reasons.ts';
import { said } from '../../words/sentences.ts';
import { rateTablePicture } from '../charge/studyPictures.ts';

/** The rates a cell type or a chemistry may be charged at, over temperature and resistance growth. */
export function ChargeRatesView({ of, id }: { of: 'cell-types' | 'chemistries'; id: number }) {
  const { data, error, again } = useRequest(`/${of}/{id}/charge-rates`, { params: { id } });
  if (data === undefined) {
    return error === null ? <Waiting /> : <Problem error={error} again={again} />;
  }
  return (
    <section aria-label={say('cellTypes.chargeRatesOf', { subjectName: data.subject.name })}>
      <h2>{say('cellTypes.chargeRatesOf', { subjectName: data.subject.name })}</h2>
      <Basis rates={data} />
      <Cautions
        also={[
          ...(data.cautions.includes('do-not-charge') ? [say('cellTypes.whereTheTableSaysDoNot')] : []),
          ...furtherCautions(data.cautions.filter((code) => code !== 'do-not-charge')).map(cautionSentence),
        ]}
      />
      {data.entries.some((e) => e.rateC !== null) && <ChartFigure picture={rateTablePicture(data)} />}
      <Sheet
        label={say('cellTypes.ratesOfSubjectName', { subjectName: data.subject.name })}
        maxHeight={640}
        head={[say('cellTypes.temperatureC'), ...data.resistanceGrowths.map(growthWord)]}
        numeric={[0]}
        rows={data.temperaturesC.map((t) => [
          significant(t, 3),
          ...data.resistanceGrowths.map((growth) => {
            const entry = data.entries.find((e) => e.temperatureC === t && e.resistanceGrowth === growth);
            return entry === undefined ? '–' : <Rate key={growth} entry={entry} />;
          }),
        ])}
      />
    </section>
  );
}

function growthWord(growth: number): string {
  return growth === 0
    ? say('cellTypes.asMeasured')
    : say('cellTypes.resistanceGrowth', { growth: Math.round(growth * 100) });
}

function Basis({ rates }: { rates: ChargeRates }) {
  const [units] = useUnits();
  const { limits, representative: cell } = rates;
  const range = say('cellTypes.minTemperatureCToMaxTemperature', {
    minTemperatureC: limits.minTemperatureC,
    maxTemperatureC: limits.maxTemperatureC,
  });
  return (
    <>
      {cell === null ? (
        <p className="warning">
          {say('cellTypes.commonPracticeForTheChemistryNo')}
          {rates.representativeReason === 'no-fitted-cell' && say('cellTypes.noCellOfThisTypeHas')}
          {say('cellTypes.takeTheMakerSDatasheet')}
        </p>
      ) : (
        <p>
          {say('cellTypes.computedFromTheFittedParametersOf')}{' '}
          <Link to={`/cells/${cell.cellId}`}>{cell.serial}</Link> {say('cellTypes.of')}{' '}
          <Link to={`/lots/${cell.lotId}`}>{cell.lotName}</Link>
          {cell.chosenBy === 'median-resistance'
            ? say('cellTypes.theMiddleOneOfFittedCells', { fittedCells: cell.fittedCells })
            : say('cellTypes.theFirstFittedCell')}
          {cell.resistanceOhm !== null && <> ({quantity(cell.resistanceOhm, 'Ohm', units)})</>}
          {say('cellTypes.measuredMeasuredFromC', {
            measuredFromC:
              cell.measuredFromC === null || cell.measuredToC === null
                ? say('cellTypes.atATemperatureThatIsNot')
                : cell.measuredFromC === cell.measuredToC
                  ? say('cellTypes.atMeasuredFromCC', { measuredFromC: significant(cell.measuredFromC, 3) })
                  : say('cellTypes.fromMeasuredFromCToMeasured', {
                      measuredFromC: significant(cell.measuredFromC, 3),
                      measuredToC: significant(cell.measuredToC, 3),
                    }),
          })}
          {!cell.heatBalance && say('cellTypes.itHasNoHeatBalanceIts')}
        </p>
      )}
      {cell !== null && cell.notes.length > 0 && (
        <p>{say('cellTypes.basisNotes', { notes: cell.notes.map(said).join('; ') })}</p>
      )}
      <p>
        {say('cellTypes.limitsKeptCV', {
          maxRateC: significant(limits.maxRateC, 3),
          word:
            limits.maxRateBasis === 'datasheet' ? plainCode('datasheet') : say('cellTypes.commonPractice'),
          chargeVoltageLimitV: limits.chargeVoltageLimitV,
          range,
        })}
        {limits.commonPractice.length > 0 && say('cellTypes.whatTheDatasheetLeavesOpenIs')}
      </p>
    </>
  );
}

function Rate({ entry }: { entry: ChargeRateEntry }) {
  const [units] = useUnits();
  const why = [
    entry.binding === null
      ? ''
      : say('cellTypes.boundByRateBindingWords', { rateBindingWords: rateBindingWords[entry.binding] }),
    entry.extrapolated ? say('cellTypes.outsideTheMeasuredRange') : '',
  ].filter((t) => t !== '');
  if (entry.doNotCharge)
    return <>{say('cellTypes.doNotChargeReason', { reason: reasonSentence(entry.reason) })}</>;
  if (entry.rateC === null)
    return <>{say('cellTypes.notKnownReason', { reason: reasonSentence(entry.reason) })}</>;
  return (
    <>
      <strong>{significant(entry.rateC, 3)} C</strong>
      {entry.currentA !== null && <> ({quantity(entry.currentA, 'A', units, 3)})</>}
      {why.length > 0 && <>; {why.join('; ')}</>}
    </>
  );
}
