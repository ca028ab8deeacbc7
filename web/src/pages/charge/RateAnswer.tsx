import type { ChargeStudyResult } from '../../../../server/contract/chargeStudyResult.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { percent, significant } from '../../format/number.ts';
import { span } from '../../format/time.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { bindingWords } from '../../words/charge.ts';
import { say } from '../../words/i18n.ts';
import { reasonSentence } from '../../words/reasons.ts';
import { rateTablePicture, tradeOffPicture } from './studyPictures.ts';

/** The highest rate that keeps every limit, what it trades off, the staged profile and the table of rates. */
export function RateAnswer({ result }: { result: ChargeStudyResult }) {
  const { rateSearch: search, stagedProfile: staged, rateTable: table } = result;
  return (
    <>
      {search !== null && (
        <>
          <h2>{say('charge.highestRateThatKeepsEveryLimit')}</h2>
          {search.rateC === null ? (
            <p className="problem">
              {say('charge.doNotChargeReason', { reason: reasonSentence(search.reason) })}
            </p>
          ) : (
            <p>
              <strong>{significant(search.rateC, 3)} C</strong>
              {search.currentA !== null && <> ({significant(search.currentA, 3)} A)</>}
              {say('charge.aHigherRateWouldBreak', {
                bindingWords: bindingWords[search.binding],
              })}
              {search.best !== null && search.best.targetTimeS !== null && (
                <>
                  {' '}
                  {say('charge.theAskedSocIsReachedAfter', { targetTimeS: span(search.best.targetTimeS) })}
                </>
              )}{' '}
              {say('charge.computedFromFittedParametersTheDatasheet')}
            </p>
          )}
          {search.tradeOff.length > 1 && (
            <div className="charts">
              <ChartFigure
                picture={tradeOffPicture(
                  say('charge.timeAgainstRate'),
                  { label: say('charge.timeToTheTargetSoc'), unit: 'min' },
                  search,
                  (p) => (p.targetTimeS === null ? null : p.targetTimeS / 60),
                )}
              />
              <ChartFigure
                picture={tradeOffPicture(
                  say('charge.temperatureAgainstRate'),
                  { label: say('charge.peakTemperature'), unit: '°C' },
                  search,
                  (p) => p.peakTemperatureC,
                )}
              />
              <ChartFigure
                picture={tradeOffPicture(
                  say('charge.lossAgainstRate'),
                  { label: say('charge.loss'), unit: 'Wh' },
                  search,
                  (p) => p.lossWh,
                )}
              />
              {search.tradeOff.some((p) => p.lifeCycles !== null) && (
                <ChartFigure
                  picture={tradeOffPicture(
                    say('charge.lifeAgainstRate'),
                    { label: say('charge.cyclesToEndOfLife'), unit: '' },
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
          <h2>{say('charge.stagedProfile')}</h2>
          {staged.reason !== null ? (
            <p>{reasonSentence(staged.reason)}</p>
          ) : (
            <>
              <p>
                {staged.sameAsSingleRate
                  ? say('charge.aStagedProfileIsNotFaster')
                  : say('charge.neverSlowerThanTheBestSingle')}
                {staged.targetTimeS !== null && (
                  <> {say('charge.theAskedSOCAfter', { targetTimeS: span(staged.targetTimeS) })}</>
                )}
                {staged.singleRateTargetTimeS !== null &&
                  say('charge.withASingleRateAfter', {
                    singleRateTargetTimeS: span(staged.singleRateTargetTimeS),
                  })}
                .
              </p>
              <Sheet
                label={say('charge.stages')}
                head={[say('charge.stage'), say('charge.rateC'), say('charge.currentA'), say('charge.until')]}
                numeric={[0, 1, 2]}
                rows={staged.stages.map((s, i) => [
                  i + 1,
                  significant(s.rateC, 3),
                  significant(s.currentA, 3),
                  s.untilSoc === null ? say('charge.theVoltageLimit') : `SOC ${percent(s.untilSoc, 0)}`,
                ])}
              />
            </>
          )}
        </>
      )}
      {table !== null && (
        <>
          <h2>{say('charge.recommendedRates')}</h2>
          <p>
            {table.basis === 'computed-from-fitted-parameters'
              ? say('charge.computedFromTheFittedParametersUnder')
              : say('charge.defaultsFromCommonPracticeNoSource')}
          </p>
          <ChartFigure picture={rateTablePicture(table)} />
          <Sheet
            label={say('charge.recommendedRates')}
            head={[
              say('charge.temperatureC'),
              say('charge.resistance'),
              say('charge.rateC'),
              say('charge.boundBy'),
              say('charge.remark'),
            ]}
            numeric={[0, 2]}
            rows={table.entries.map((e) => [
              significant(e.temperatureC, 3),
              e.resistanceGrowth === 0 ? say('charge.new') : `+${Math.round(e.resistanceGrowth * 100)} %`,
              e.reason === 'not-measured-in-the-cold'
                ? say('charge.notKnown')
                : e.rateC === null
                  ? say('charge.doNotCharge')
                  : significant(e.rateC, 3),
              e.reason === 'not-measured-in-the-cold' ? '–' : bindingWords[e.binding],
              e.reason !== null
                ? reasonSentence(e.reason)
                : e.extrapolated
                  ? say('charge.outsideTheMeasuredRange')
                  : '',
            ])}
          />
        </>
      )}
    </>
  );
}
