import type { HistoryEntry } from '../../../server/contract/cells.ts';
import { useRequest } from '../api/useRequest.ts';
import { instant } from '../format/time.ts';
import { plainCode } from '../words/reasons.ts';
import { Problem } from './Problem.tsx';

/** Everything that happened to a thing, newest first: when, what, by whom. */
export function History({ of, id }: { of: 'cells' | 'stacks'; id: number }) {
  const { data, error, again } = useRequest(`/${of}/{id}/history`, { params: { id } });
  return (
    <>
      <h2>What happened</h2>
      <Problem error={error} again={again} />
      {data !== undefined && (
        // biome-ignore lint/a11y/noNoninteractiveTabindex: a scrolling list must be reachable by keyboard
        <ol className="history" tabIndex={0} aria-label="What happened, newest first">
          {data.items.map((entry) => (
            <li key={`${entry.at} ${entry.action} ${entry.subjectKind} ${entry.subjectId}`}>
              <time dateTime={entry.at}>{instant(entry.at)}</time> {plainCode(entry.action)}
              {details(entry)} <span className="by">by {entry.actor}</span>
            </li>
          ))}
        </ol>
      )}
    </>
  );
}

function details(entry: HistoryEntry): string {
  const parts = Object.entries(entry.detail)
    .filter(([, value]) => value !== null && value !== '')
    .map(([name, value]) => `${plainName(name)} ${String(value)}`);
  return parts.length === 0 ? '' : ` (${parts.join(', ')})`;
}

/** `checkUpDueAt` → `check up due at`: the names that programs see, as words. */
function plainName(name: string): string {
  return name.replace(/([a-z])([A-Z])/g, '$1 $2').toLowerCase();
}
