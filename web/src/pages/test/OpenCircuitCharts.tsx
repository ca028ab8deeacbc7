import type { OpenCircuitCurve } from '../../../../server/contract/openCircuit.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { openCircuitPicture, slopePicture } from './openCircuitPictures.ts';

const sources: Readonly<Record<OpenCircuitCurve['source'], string>> = {
  rests: 'From the rests between the pulses, each carried on to where its relaxation is heading.',
  'slow-average':
    'Mean of a slow discharge and a slow charge: half of hysteresis and polarisation on either side. What is left between them is the uncertainty.',
  'slow-discharge':
    'From a slow discharge alone: hysteresis and polarisation are still in it. A slow charge in the same record would halve them out.',
  'slow-charge':
    'From a slow charge alone: hysteresis and polarisation are still in it. A slow discharge in the same record would halve them out.',
};

/** The open-circuit curve of a test and its slope, with what they were read from. */
export function OpenCircuitCharts({ curve }: { curve: OpenCircuitCurve }) {
  return (
    <div className="charts">
      <ChartFigure picture={openCircuitPicture(curve)} height={320} note={sources[curve.source]} />
      <ChartFigure
        picture={slopePicture(curve)}
        height={320}
        note="Where the slope is small, a voltage says little about the state of charge."
      />
    </div>
  );
}
