import { Button } from '@mantine/core';
import { Link } from 'react-router';
import type { ImportOptions } from '../../../../server/contract/import.ts';
import { whole } from '../../format/number.ts';
import { JobError } from '../../parts/JobError.tsx';
import { JobProgress } from '../../parts/JobProgress.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { Said } from '../../parts/Said.tsx';
import { say } from '../../words/i18n.ts';
import { PreviewCard } from './PreviewCard.tsx';
import { RefusalText } from './RefusalText.tsx';
import type { QueuedFile } from './useFileQueue.ts';

const words: Readonly<Record<QueuedFile['state'], string>> = {
  looking: say('import.beingLookedAt'),
  ready: say('import.ready'),
  incomplete: say('import.serialMissing'),
  sending: say('import.beingSent'),
  'waiting-for-server': say('import.waitingForTheServer'),
  working: say('import.beingImported'),
  taken: say('import.imported'),
  refused: say('import.refused2'),
  failed: say('import.failed'),
};

interface FileCardProps {
  readonly entry: QueuedFile;
  readonly onOptions: (options: ImportOptions) => void;
  readonly onRemove: () => void;
}

/** One file of the import: its state, what it is taken for, and what became of it. */
export function FileCard({ entry, onOptions, onRemove }: FileCardProps) {
  const { report, job } = entry;
  const untouched = ['ready', 'incomplete', 'refused', 'failed'].includes(entry.state);
  return (
    <section className="file-card" aria-label={entry.file.name}>
      <p className="file-line">
        <strong>{entry.file.name}</strong>
        <span>{say('import.sizeKb', { size: whole(entry.file.size / 1000) })}</span>
        <span role="status">{words[entry.state]}</span>
        {untouched && report === null && (
          <Button
            size="compact-xs"
            variant="subtle"
            aria-label={say('import.leaveOutFileName', { fileName: entry.file.name })}
            onClick={onRemove}
          >
            {say('import.leaveOut2')}
          </Button>
        )}
      </p>
      <Problem error={entry.error} />
      {entry.state === 'working' && (
        <JobProgress job={job} name={say('import.importingName', { name: entry.file.name })} />
      )}
      {job?.state === 'failed' && job.error !== null && <JobError error={job.error} />}
      {report !== null && report.refusal !== null && <RefusalText refusal={report.refusal} />}
      {report !== null && report.state === 'taken' && (
        <p>
          {say('import.rowsCells', {
            rowCount: whole(report.rowCount),
            cells: report.cells.length === 0 ? 'none' : report.cells.slice(0, 5).join(', '),
          })}
          {report.cells.length > 5 && say('import.andCellsMore', { cells: report.cells.length - 5 })}
          {say('import.newValues', {
            cellsCreated: report.cellsCreated,
            runs: report.runs.length,
            word: report.runs.length === 1 ? say('import.run') : say('import.runs'),
            measurementsCreated: report.measurementsCreated,
          })}
        </p>
      )}
      {report !== null && report.stackLogId !== null && (
        <p>
          <Link to={`/stack-logs/${report.stackLogId}`}>{say('import.lookAtTheMeasuredCharge')}</Link>
        </p>
      )}
      {report?.warnings.map((w) => (
        <p key={w} className="warning">
          <Said text={w} />
        </p>
      ))}
      {entry.preview !== null && report === null && entry.state !== 'working' && (
        <PreviewCard preview={entry.preview} options={entry.options} onOptions={onOptions} />
      )}
    </section>
  );
}
