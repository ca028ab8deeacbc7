import type { OpenCircuitCurve } from '../../../../server/contract/openCircuit.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { say } from '../../words/i18n.ts';
import { reasonSentence } from '../../words/reasons.ts';
import { openCircuitPicture, slopePicture } from './openCircuitPictures.ts';

const sources: Readonly<Record<OpenCircuitCurve['source'], string>> = {
  rests: say('test.fromTheRestsBetweenThePulses'),
  'slow-average': say('test.meanOfASlowDischargeAnd'),
  'slow-discharge': say('test.fromASlowDischargeAloneHysteresis'),
  'slow-charge': say('test.fromASlowChargeAloneHysteresis'),
};

function from({ source, assumes }: OpenCircuitCurve): string {
  return assumes ? `${sources[source]} ${reasonSentence(assumes)}` : sources[source];
}

/** The open-circuit curve of a test and its slope, with what they were read from. */
export function OpenCircuitCharts({ curve }: { curve: OpenCircuitCurve }) {
  return (
    <div className="charts">
      <ChartFigure picture={openCircuitPicture(curve)} height={320} note={from(curve)} />
      <ChartFigure picture={slopePicture(curve)} height={320} note={say('test.whereTheSlopeIsSmallA')} />
    </div>
  );
}
