import type { EvaluatedPulseRecord } from '../../../../server/contract/pulseRecord.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { significant } from '../../format/number.ts';
import { WarningList } from '../../parts/WarningList.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { reasonSentence } from '../../words/reasons.ts';
import { socBasis } from '../../words/socBasis.ts';
import { CircuitTable } from './CircuitTable.tsx';
import { OpenCircuitCharts } from './OpenCircuitCharts.tsx';
import { PulseMultiples } from './PulseMultiples.tsx';
import { PulseTable } from './PulseTable.tsx';
import { resistanceHeatMap, resistancePicture } from './pulsePictures.ts';
import { R0Meaning } from './R0Meaning.tsx';
import { StandardMethods } from './StandardMethods.tsx';

/** What was found in a pulse record: resistances with their duration, circuit models, and the open-circuit curve. */
export function PulseView({ result, cellId }: { result: EvaluatedPulseRecord; cellId: number | null }) {
  const [units] = useUnits();
  const heat = resistanceHeatMap(result, units);
  const curve = result.openCircuit;
  return (
    <>
      {result.warnings.length > 0 && (
        <section aria-label={say('test.warnings')}>
          <WarningList warnings={result.warnings} />
        </section>
      )}
      <h2>{say('test.resistances')}</h2>
      <p>{say('test.aResistanceBelongsToItsDuration')}</p>
      <PulseMultiples result={result} />
      <PulseTable result={result} />
      {result.pulses.some((p) => p.socBefore !== null) && (
        <div className="charts">
          <ChartFigure picture={resistancePicture(result, units)} height={320} />
          {heat !== null && <ChartFigure picture={heat} height={320} zoom={false} />}
        </div>
      )}
      <h2>{say('test.circuitModel')}</h2>
      <p>{say('test.ocvR0AndUpToThree')}</p>
      <R0Meaning result={result} cellId={cellId} />
      <CircuitTable result={result} />
      <StandardMethods result={result} />
      <h2>{say('test.openCircuitVoltage')}</h2>
      {curve === null ? (
        <p>
          {result.openCircuitReason === null ? say('test.none') : reasonSentence(result.openCircuitReason)}
        </p>
      ) : (
        <OpenCircuitCharts curve={curve} />
      )}
      <p>
        {say('test.resolutionOfTheRecordMVMA', {
          voltageResolutionV: significant(result.record.voltageResolutionV * 1000, 2),
          currentResolutionA: significant(result.record.currentResolutionA * 1000, 2),
          voltageNoiseV: significant(result.record.voltageNoiseV * 1000, 2),
        })}
      </p>
      {result.pulses.some((p) => p.socBefore !== null) && <p>{socBasis(result.settings)}</p>}
    </>
  );
}
