import { MultiSelect } from '@mantine/core';
import { useMemo } from 'react';
import type { Sweep } from '../../../../server/contract/impedance.ts';
import type { Evaluation, Test } from '../../../../server/contract/tests.ts';
import { useRequest } from '../../api/useRequest.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { useUrlState } from '../../parts/useUrlState.ts';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { type ShownSweep, spectrumPictures, sweepName } from './spectrumPictures.ts';

/** More spectra over each other cannot be distinguished. */
const mostDrawn = 6;

/** The spectra of a test over each other, with the circuit over the points and the residuals below. */
export function TestSpectra({ test, evaluation }: { test: Test; evaluation: Evaluation | null }) {
  const sweeps = useRequest('/tests/{id}/sweeps', { params: { id: test.id } });
  const [units] = useUnits();
  const [chosenText, setChosenText] = useUrlState('sweeps');
  const all = useMemo(
    () =>
      (sweeps.data?.items ?? []).map(
        (sweep): ShownSweep => ({ sweep, evaluated: evaluatedOf(evaluation, sweep) }),
      ),
    [sweeps.data, evaluation],
  );
  const chosen = chosenText === '' ? usual(all.length) : chosenText.split(',').map(Number);
  const key = chosen.join(',');
  const pictures = useMemo(() => {
    const places = key.split(',').map(Number);
    return spectrumPictures(
      places.flatMap((place) => all[place] ?? []),
      units,
    );
  }, [all, key, units]);
  return (
    <section aria-label={say('test.spectra')}>
      <div className="sheet-tools">
        <MultiSelect
          className="grows"
          size="xs"
          label={say('test.sweepsDrawnOverEachOther')}
          data={all.map((one) => ({ value: String(one.sweep.position), label: sweepName(one) }))}
          value={chosen.map(String)}
          onChange={(next) => setChosenText(next.join(','))}
          maxValues={mostDrawn}
        />
      </div>
      <Problem error={sweeps.error} again={sweeps.again} />
      {all.length > 0 && (
        <div className="charts">
          <ChartFigure picture={pictures.plane} height={340} note={say('test.bothAxesHaveTheSameScale')} />
          <ChartFigure picture={pictures.magnitude} height={340} />
          <ChartFigure picture={pictures.phase} height={340} />
          {pictures.circuitResidual !== null && (
            <ChartFigure picture={pictures.circuitResidual} height={340} />
          )}
          {pictures.consistencyResidual !== null && (
            <ChartFigure
              picture={pictures.consistencyResidual}
              height={340}
              note={say('test.betweenTheTwoLinesTheSpectrum')}
            />
          )}
        </div>
      )}
    </section>
  );
}

/** A few where there are few, else the first, the middle and the last. */
function usual(count: number): number[] {
  if (count <= 3) return Array.from({ length: count }, (_, i) => i);
  return [0, Math.floor((count - 1) / 2), count - 1];
}

function evaluatedOf(evaluation: Evaluation | null, sweep: Sweep): ShownSweep['evaluated'] {
  const found = evaluation?.evaluation;
  if (found?.kind !== 'impedance') return null;
  return found.result.sweeps.find((one) => one.position === sweep.position) ?? null;
}
