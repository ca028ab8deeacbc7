import { NativeSelect } from '@mantine/core';
import { useState } from 'react';
import { Link } from 'react-router';
import type { StackLogEvaluation } from '../../../../server/contract/stackLogEvaluations.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { instant } from '../../format/time.ts';
import { Cautions } from '../../parts/Cautions.tsx';
import { Said } from '../../parts/Said.tsx';
import { say } from '../../words/i18n.ts';
import { noteWords } from '../../words/studyNotes.ts';
import { CountedCapacity, FitTable, ResidualTable, SupplyTable, TimesAndEnergies } from './LogTables.tsx';
import {
  currentPicture,
  residualPicture,
  supplyPicture,
  temperaturePicture,
  voltagePicture,
} from './logPictures.ts';

interface LogEvaluationProps {
  readonly evaluation: StackLogEvaluation;
  /** All cautions in view and every log shown, as on paper. */
  readonly onPaper?: boolean;
}

/** An evaluation of logs: picture first, the verdict, then the tables. */
export function LogEvaluation({ evaluation, onPaper = false }: LogEvaluationProps) {
  const { result, inputs } = evaluation;
  const logs = [result, ...result.furtherLogs];
  const [shown, setShown] = useState(0);
  const drawn = onPaper ? logs.map((_, l) => l) : [shown];
  return (
    <>
      {!onPaper && logs.length > 1 && (
        <NativeSelect
          maw={320}
          label={say('stackLogs.logShown')}
          value={String(shown)}
          data={inputs.logs.map(({ fileName }, l) => ({ value: String(l), label: `${l + 1}. ${fileName}` }))}
          onChange={(e) => setShown(Number(e.currentTarget.value))}
        />
      )}
      {drawn.map((l) => {
        const { series, comparison, warnings, supply, countedCapacity } = logs[l];
        return (
          <section
            key={inputs.logs[l].id}
            aria-label={say('stackLogs.logFileName', { fileName: inputs.logs[l].fileName })}
          >
            {onPaper && logs.length > 1 && <h2>{inputs.logs[l].fileName}</h2>}
            <ChartFigure picture={voltagePicture(series)} height={320} />
            {comparison.verdict.map((sentence, i) => (
              <p key={sentence} className={i === 0 ? 'answer' : undefined}>
                <Said text={sentence} />
              </p>
            ))}
            {warnings.map((warning) => (
              <p key={warning} className="warning">
                <Said text={warning} />
              </p>
            ))}
            <div className="charts">
              <ChartFigure picture={residualPicture(series)} />
              <ChartFigure picture={currentPicture(series)} />
              {[supplyPicture(series), temperaturePicture(series)].map(
                (picture) => picture && <ChartFigure key={picture.title} picture={picture} />,
              )}
            </div>
            <ResidualTable comparison={comparison} />
            <TimesAndEnergies comparison={comparison} />
            <CountedCapacity countedCapacity={countedCapacity} />
            <SupplyTable supply={supply} />
          </section>
        );
      })}
      {result.fit !== null && <FitTable fit={result.fit} />}
      <RestsOn evaluation={evaluation} />
      <Cautions full={onPaper} />
    </>
  );
}

const studyWords = {
  stack: say('stackLogs.draftedFromTheParametersOfThe'),
  'kept-study': say('stackLogs.aKeptChargeStudy'),
  given: say('stackLogs.aStudyThatWasHandedOver'),
} as const;

/** The sources of the evaluation, so that it can be traced a year later. */
function RestsOn({ evaluation }: { evaluation: StackLogEvaluation }) {
  const { inputs, createdAt, createdBy, algorithm, supersededAt } = evaluation;
  const { from, studyId, notes } = inputs.study;
  return (
    <>
      <h2>{say('stackLogs.sources')}</h2>
      <p>
        {say('stackLogs.computedWith')}{' '}
        {studyId === null ? (
          studyWords[from]
        ) : (
          <Link to={`/charge-studies/${studyId}`}>{studyWords[from]}</Link>
        )}
        {say('stackLogs.algorithmCreatedAtByCreatedBy', {
          algorithm,
          createdAt: instant(createdAt),
          createdBy,
        })}
        {supersededAt !== null && (
          <> {say('stackLogs.aLaterEvaluationTookItsPlace', { supersededAt: instant(supersededAt) })}</>
        )}
      </p>
      <ul>
        {inputs.logs.map(({ id, fileName, sha256, cycle }) => (
          <li key={id}>
            <Link to={`/stack-logs/${id}`}>{fileName}</Link>
            {cycle !== null && <>{say('stackLogs.cycleCycle', { cycle })}</>}
            {say('stackLogs.sha256')} <code>{sha256.slice(0, 16)}…</code>
          </li>
        ))}
        {noteWords(notes).map(({ text }) => (
          <li key={text}>{text}</li>
        ))}
      </ul>
    </>
  );
}
