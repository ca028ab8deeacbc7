import { describe, expect, it } from 'vitest';
import { edgeMoment } from '../../../fitting/records/edgeMoment.ts';

/** A rest with rows of 10 s, the last of them one quick interval before the first loaded row, then quick rows. */
function record(beforeS: readonly number[], afterS: readonly number[]) {
  const timeS = Float64Array.from([...beforeS, ...afterS]);
  const currentA = timeS.map((_, k) => (k < beforeS.length ? 0 : -2));
  return { record: { timeS, currentA, voltageV: timeS.map(() => 3.7) }, row: beforeS.length };
}
const quick = (from: number) => Array.from({ length: 20 }, (_, k) => from + 0.1 * k);
const moment = ({ record: rows, row }: ReturnType<typeof record>) =>
  edgeMoment(rows, row, rows.timeS.length, { fromA: 0, toA: -2 }, 0.001);

describe('the moment at which the current changed', () => {
  it('is anywhere in the interval where one clock runs through: the first quick interval is no sign of a restart', () => {
    const { momentS, halfWidthS } = moment(
      record([...quick(0), 10.1, 20.1, 30.1, 40.1, 50.1, 60.1], quick(60.2)),
    );
    expect(momentS - halfWidthS).toBeCloseTo(60.1, 9);
    expect(momentS + halfWidthS).toBeCloseTo(60.2, 9);
  });

  it('is right after the row before where each step has a clock of its own', () => {
    const { momentS, halfWidthS } = moment(
      record([...quick(0.037), 10.37, 20.37, 30.37, 40.37, 50.37, 60.37], quick(60.47)),
    );
    expect(momentS - halfWidthS).toBeCloseTo(60.37, 9);
    expect(momentS + halfWidthS).toBeCloseTo(60.38, 9);
  });
});
