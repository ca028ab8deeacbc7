import { MultiSelect } from '@mantine/core';
import { useMemo, useState } from 'react';
import type { Evaluation, FittedPulse, Series, Test, TestStep } from '../../../../server/contract/tests.ts';
import { useRequest } from '../../api/useRequest.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import {
  recordPictures,
  type ShownFit,
  type ShownRecord,
  type ShownStep,
  timeUnit,
} from '../../charts/recordPictures.ts';
import { Problem } from '../../parts/Problem.tsx';
import { useUrlState } from '../../parts/useUrlState.ts';
import { useFinger } from '../../settings/useFinger.ts';
import { say } from '../../words/i18n.ts';
import { plainCode } from '../../words/reasons.ts';
import { windowOf, windowTextOf } from './recordWindow.ts';
import { testTitle } from './testColumns.tsx';
import { useOtherRecords } from './useOtherRecords.ts';

/** The record with step bands, the fit over it and its residuals, all on one time axis; zoom fetches exact samples. */
export function TestRecord({ test, evaluation }: { test: Test; evaluation: Evaluation | null }) {
  const finger = useFinger();
  // Runs that are evaluated as one record are drawn as one: how long it is, the series says.
  const [joinedEndS, setJoinedEndS] = useState<number | null>(null);
  const whole = { from: 0, to: joinedEndS ?? test.record?.durationS ?? 0 };
  const [windowText, setWindowText] = useUrlState('window');
  const [pulse] = useUrlState('pulse');
  const [overText, setOverText] = useUrlState('over');
  const window = windowOf(windowText) ?? whole;
  const query =
    windowText === '' && test.evaluatedWithId !== null
      ? { points: 1600 }
      : { fromS: window.from, toS: window.to, points: 1600 };
  const series = useRequest('/tests/{id}/series', { params: { id: test.id }, query });
  const endS = series.data?.timeS.at(-1) ?? null;
  if (test.evaluatedWithId !== null && windowText === '' && endS !== null && endS !== joinedEndS)
    setJoinedEndS(endS);
  const steps = useRequest('/tests/{id}/steps', { params: { id: test.evaluatedWithId ?? test.id } });
  const fitted = useRequest(
    pulse === '' || evaluation === null ? null : '/tests/{id}/pulses/{index}/fitted',
    { params: { id: test.id, index: pulse } },
  );
  const siblings = useRequest('/tests', { query: { cellId: test.cellId, limit: 100 } });
  const others = useOtherRecords(overText, query, siblings.data?.items ?? []);
  const pictures = useMemo(() => {
    if (series.data === undefined) return null;
    return recordPictures(
      [shownRecord(testTitle(test), series.data), ...others],
      shownSteps(evaluation, steps.data?.items ?? []),
      fitted.data === undefined ? [] : [shownFit(fitted.data)],
      windowOf(windowText) ?? { from: 0, to: whole.to },
    );
  }, [series.data, steps.data, fitted.data, windowText, test, others, evaluation, whole.to]);
  const { divisor } = timeUnit(window.to - window.from);
  const zoomTo = (next: { from: number; to: number } | null) =>
    setWindowText(next === null ? '' : windowTextOf(next.from * divisor, next.to * divisor, whole.to));
  return (
    <section aria-label={say('test.record')}>
      <div className="sheet-tools">
        <MultiSelect
          className="grows"
          size="xs"
          label={say('test.drawOtherTestsOfThisCell')}
          data={(siblings.data?.items ?? [])
            .filter((t) => t.id !== test.id && t.record !== null)
            .map((t) => ({ value: String(t.id), label: testTitle(t) }))}
          value={overText === '' ? [] : overText.split(',')}
          onChange={(next) => setOverText(next.join(','))}
          maxValues={4}
        />
      </div>
      <Problem error={series.error} again={series.again} />
      <Problem error={fitted.error} />
      {pictures !== null && (
        <>
          <ChartFigure
            picture={pictures.voltage}
            onWindow={zoomTo}
            isPart={windowText !== ''}
            height={300}
            note={
              series.data?.exact
                ? say('test.everySampleOfThisStretchIs')
                : say('test.reducedToTheLeastAndGreatest', {
                    word: finger ? say('test.spreadTwoFingers') : say('test.dragAcross'),
                  })
            }
          />
          <ChartFigure picture={pictures.current} onWindow={zoomTo} isPart={windowText !== ''} height={190} />
          {pictures.residual !== null && (
            <ChartFigure
              picture={pictures.residual}
              onWindow={zoomTo}
              isPart={windowText !== ''}
              height={190}
            />
          )}
          {pictures.temperature !== null && (
            <ChartFigure
              picture={pictures.temperature}
              onWindow={zoomTo}
              isPart={windowText !== ''}
              height={170}
            />
          )}
        </>
      )}
    </section>
  );
}

function shownRecord(name: string, series: Series): ShownRecord {
  const column = (wanted: string) => series.columns.find((c) => c.name.startsWith(wanted))?.values;
  return {
    name,
    timeS: series.timeS,
    voltageV: column('voltage') ?? [],
    currentA: column('current') ?? [],
    temperatureC: column('temperature') ?? null,
  };
}

/** More marks than this would cover each other. */
const mostMarks = 60;

/** The steps that the evaluation found, else its runs, else those that the instrument logged; each with its name. */
function shownSteps(evaluation: Evaluation | null, logged: readonly TestStep[]): ShownStep[] {
  const found = evaluation?.evaluation;
  if (found?.kind === 'pulse') {
    const { steps, pulses } = found.result;
    const pulseOf = new Map(pulses.map((p) => [p.stepIndex, p.index + 1]));
    return steps.map((step) => {
      const pulse = pulseOf.get(step.index);
      return {
        ...step,
        name: pulse === undefined ? plainCode(step.kind) : say('test.pulseIndex', { index: pulse }),
        ...(pulse === undefined || pulses.length > mostMarks ? {} : { mark: String(pulse) }),
      };
    });
  }
  if (found?.kind === 'capacity') {
    return found.result.runs.map((run, index) => ({
      index,
      kind: run.direction,
      name: plainCode(run.direction),
      startTimeS: run.startTimeS,
      durationS: run.endTimeS - run.startTimeS,
    }));
  }
  return logged.map((s, index) => ({
    index,
    kind: s.mode,
    name: plainCode(s.mode),
    startTimeS: s.startTimeS,
    durationS: s.durationS,
  }));
}

function shownFit(fit: FittedPulse): ShownFit {
  return {
    name: say('test.fitOfPulse', { pulseIndex: fit.pulseIndex + 1 }),
    timeS: fit.timeS,
    modelV: fit.fittedV,
    residualV: fit.residualV,
  };
}
