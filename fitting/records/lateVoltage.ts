import type { EdgeMoment } from './edgeMoment.ts';
import type { RecordColumns } from './record.ts';

/** Share of the change of voltage to the row after it below which a row has not answered the current. */
const UNANSWERED = 0.2;
/** Multiple of its noise by which that change must stand out. */
const STANDS_OUT = 10;

/**
 * An edge whose first settled row shows the new current, but hardly any of the voltage that the next row shows: it was read at the
 * step itself, or the voltage channel is late. By how much is open up to the row that answers, which is the first that counts.
 *
 * @param end row after the last that may belong to the new level
 * @param noiseV noise of one voltage reading, quantisation included
 */
export function withLateVoltage(
  { timeS, voltageV }: RecordColumns,
  edge: EdgeMoment,
  end: number,
  noiseV: number,
): EdgeMoment {
  const { settled, momentS, halfWidthS } = edge;
  if (settled < 1 || settled + 2 >= end) return edge;
  const before = voltageV[settled - 1];
  const [here, next] = [voltageV[settled] - before, voltageV[settled + 1] - before];
  if (Math.abs(next) <= STANDS_OUT * noiseV || Math.abs(here) > UNANSWERED * Math.abs(next)) return edge;
  const [earliestS, latestS] = [momentS - halfWidthS, timeS[settled + 1]];
  return {
    ...edge,
    momentS: (earliestS + latestS) / 2,
    halfWidthS: (latestS - earliestS) / 2,
    settled: settled + 1,
  };
}
