import { useRequest } from '../api/useRequest.ts';
import { instant } from '../format/time.ts';
import { actionWords, detailWords } from '../words/history.ts';
import { say } from '../words/i18n.ts';
import { Problem } from './Problem.tsx';

/** Everything that happened to a thing, newest first: when, what, by whom. */
export function History({ of, id }: { of: 'cells' | 'stacks'; id: number }) {
  const { data, error, again } = useRequest(`/${of}/{id}/history`, { params: { id } });
  return (
    <>
      <h2>{say('general.whatHappened')}</h2>
      <Problem error={error} again={again} />
      {data !== undefined && (
        // biome-ignore lint/a11y/noNoninteractiveTabindex: a scrolling list must be reachable by keyboard
        <ol className="history" tabIndex={0} aria-label={say('general.whatHappenedNewestFirst')}>
          {data.items.map((entry) => (
            <li key={`${entry.at} ${entry.action} ${entry.subjectKind} ${entry.subjectId}`}>
              <time dateTime={entry.at}>{instant(entry.at)}</time> {actionWords(entry.action)}
              {detailWords(entry.detail)}{' '}
              <span className="by">{say('general.byActor', { actor: entry.actor })}</span>
            </li>
          ))}
        </ol>
      )}
    </>
  );
}
