import type { RestResult } from '../../../../server/contract/tests.ts';
import { fixed, significant, withUncertainty } from '../../format/number.ts';
import { span } from '../../format/time.ts';
import { Fact, Facts } from '../../parts/Fact.tsx';
import { say } from '../../words/i18n.ts';
import { reasonSentence } from '../../words/reasons.ts';

/** A rested cell: the voltage it ended at and how fast it drifts. */
export function RestView({ result }: { result: RestResult }) {
  const drift = result.driftMvPerDay;
  return (
    <>
      <h2>{say('test.rest')}</h2>
      <Facts>
        <Fact name={say('test.rested')}>{span(result.durationS)}</Fact>
        <Fact name={say('test.lastVoltage')}>{fixed(result.lastVoltageV, 4)} V</Fact>
        <Fact name={say('test.drift2')}>
          {drift === null
            ? reasonSentence(result.reason)
            : `${
                result.driftStandardUncertaintyMvPerDay === null
                  ? significant(drift, 3)
                  : withUncertainty(drift, result.driftStandardUncertaintyMvPerDay)
              } mV/d`}
        </Fact>
        {result.usedFromS !== null && <Fact name={say('test.usedFrom')}>{span(result.usedFromS)}</Fact>}
        {result.temperatureMeanC !== null && (
          <Fact name={say('test.meanTemperature')}>{significant(result.temperatureMeanC, 3)} °C</Fact>
        )}
      </Facts>
      {drift !== null && result.assumes != null && <p>{reasonSentence(result.assumes)}</p>}
      <p>{say('test.theEarlyPartOfARest')}</p>
    </>
  );
}
