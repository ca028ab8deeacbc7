import type { EvaluatedPulseRecord } from '../../../../server/contract/pulseRecord.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { significant } from '../../format/number.ts';
import { WarningList } from '../../parts/WarningList.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { reasonSentence } from '../../words/reasons.ts';
import { socBasis } from '../../words/socBasis.ts';
import { CircuitTable } from './CircuitTable.tsx';
import { OpenCircuitCharts } from './OpenCircuitCharts.tsx';
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
        <section aria-label="Warnings">
          <WarningList warnings={result.warnings} />
        </section>
      )}
      <h2>Resistances</h2>
      <p>
        A resistance belongs to its duration: the longer the current flows, the more of the slow processes is
        in it. Each is divided by the current that really flowed. Charge and discharge are kept apart.
      </p>
      <PulseTable result={result} />
      {result.pulses.some((p) => p.socBefore !== null) && (
        <div className="charts">
          <ChartFigure picture={resistancePicture(result, units)} height={320} />
          {heat !== null && <ChartFigure picture={heat} height={320} zoom={false} />}
        </div>
      )}
      <h2>Circuit model</h2>
      <p>
        OCV, R0 and up to three branches of R ∥ C, fitted to the measured current, pulse and relaxation
        together. The number of branches is chosen by AICc; a branch that the data cannot tell is refused.
      </p>
      <R0Meaning result={result} cellId={cellId} />
      <CircuitTable result={result} />
      <StandardMethods result={result} />
      <h2>Open-circuit voltage</h2>
      {curve === null ? (
        <p>{result.openCircuitReason === null ? 'None.' : reasonSentence(result.openCircuitReason)}</p>
      ) : (
        <OpenCircuitCharts curve={curve} />
      )}
      <p>
        Resolution of the record: {significant(result.record.voltageResolutionV * 1000, 2)} mV,{' '}
        {significant(result.record.currentResolutionA * 1000, 2)} mA; noise of the voltage{' '}
        {significant(result.record.voltageNoiseV * 1000, 2)} mV.
      </p>
      {result.pulses.some((p) => p.socBefore !== null) && <p>{socBasis(result.settings)}</p>}
    </>
  );
}
