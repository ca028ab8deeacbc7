import type { ChargeStudyResult } from '../../../../server/contract/chargeStudyResult.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { percent, significant } from '../../format/number.ts';
import { span } from '../../format/time.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { bindingWords } from '../../words/charge.ts';
import { reasonSentence } from '../../words/reasons.ts';
import { rateTablePicture, tradeOffPicture } from './studyPictures.ts';

/** The highest rate that keeps every limit, what it trades off, the staged profile and the table of rates. */
export function RateAnswer({ result }: { result: ChargeStudyResult }) {
  const { rateSearch: search, stagedProfile: staged, rateTable: table } = result;
  return (
    <>
      {search !== null && (
        <>
          <h2>Highest rate that keeps every limit</h2>
          {search.rateC === null ? (
            <p className="problem">Do not charge. {reasonSentence(search.reason)}</p>
          ) : (
            <p>
              <strong>{significant(search.rateC, 3)} C</strong>
              {search.currentA !== null && <> ({significant(search.currentA, 3)} A)</>}. A higher rate would
              break {bindingWords[search.binding]}.
              {search.best !== null && search.best.targetTimeS !== null && (
                <> The asked SOC is reached after {span(search.best.targetTimeS)}.</>
              )}{' '}
              Computed from fitted parameters; the datasheet’s rating is never exceeded.
            </p>
          )}
          {search.tradeOff.length > 1 && (
            <div className="charts">
              <ChartFigure
                picture={tradeOffPicture(
                  'Time against rate',
                  { label: 'Time to the target SOC', unit: 'min' },
                  search,
                  (p) => (p.targetTimeS === null ? null : p.targetTimeS / 60),
                )}
              />
              <ChartFigure
                picture={tradeOffPicture(
                  'Temperature against rate',
                  { label: 'Peak temperature', unit: '°C' },
                  search,
                  (p) => p.peakTemperatureC,
                )}
              />
              <ChartFigure
                picture={tradeOffPicture(
                  'Loss against rate',
                  { label: 'Loss', unit: 'Wh' },
                  search,
                  (p) => p.lossWh,
                )}
              />
              {search.tradeOff.some((p) => p.lifeCycles !== null) && (
                <ChartFigure
                  picture={tradeOffPicture(
                    'Life against rate',
                    { label: 'Cycles to end of life', unit: '' },
                    search,
                    (p) => p.lifeCycles,
                  )}
                />
              )}
            </div>
          )}
        </>
      )}
      {staged !== null && (
        <>
          <h2>Staged profile</h2>
          {staged.reason !== null ? (
            <p>{reasonSentence(staged.reason)}</p>
          ) : (
            <>
              <p>
                {staged.sameAsSingleRate
                  ? 'A staged profile is not faster here: the best single rate is proposed.'
                  : 'Never slower than the best single rate under the same limits.'}
                {staged.targetTimeS !== null && <> The asked SOC after {span(staged.targetTimeS)}</>}
                {staged.singleRateTargetTimeS !== null && (
                  <>; with a single rate after {span(staged.singleRateTargetTimeS)}</>
                )}
                .
              </p>
              <Sheet
                label="Stages"
                head={['Stage', 'Rate, C', 'Current, A', 'Until']}
                numeric={[0, 1, 2]}
                rows={staged.stages.map((s, i) => [
                  i + 1,
                  significant(s.rateC, 3),
                  significant(s.currentA, 3),
                  s.untilSoc === null ? 'the voltage limit' : `SOC ${percent(s.untilSoc, 0)}`,
                ])}
              />
            </>
          )}
        </>
      )}
      {table !== null && (
        <>
          <h2>Recommended rates</h2>
          <p>
            {table.basis === 'computed-from-fitted-parameters'
              ? 'Computed from the fitted parameters under the limits above.'
              : 'Defaults from common practice; no source is claimed.'}
          </p>
          <ChartFigure picture={rateTablePicture(table)} />
          <Sheet
            label="Recommended rates"
            head={['Temperature, °C', 'Resistance', 'Rate, C', 'Bound by', 'Remark']}
            numeric={[0, 2]}
            rows={table.entries.map((e) => [
              significant(e.temperatureC, 3),
              e.resistanceGrowth === 0 ? 'new' : `+${Math.round(e.resistanceGrowth * 100)} %`,
              e.reason === 'not-measured-in-the-cold'
                ? 'not known'
                : e.rateC === null
                  ? 'do not charge'
                  : significant(e.rateC, 3),
              e.reason === 'not-measured-in-the-cold' ? '–' : bindingWords[e.binding],
              e.reason !== null
                ? reasonSentence(e.reason)
                : e.extrapolated
                  ? 'outside the measured range'
                  : '',
            ])}
          />
        </>
      )}
    </>
  );
}
