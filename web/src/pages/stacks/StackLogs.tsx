import { Link } from 'react-router';
import { useRequest } from '../../api/useRequest.ts';
import { span } from '../../format/time.ts';
import { Problem } from '../../parts/Problem.tsx';
import { Sheet } from '../../parts/Sheet.tsx';

/** The measured charges of a stack with what came out of each. */
export function StackLogs({ stackId }: { stackId: number }) {
  const logs = useRequest('/stack-logs', { query: { stackId, limit: 200 } });
  const evaluations = useRequest('/stack-log-evaluations', { query: { stackId, limit: 200 } });
  const items = logs.data?.items ?? [];
  const verdict = (logId: number) =>
    evaluations.data?.items.find(
      ({ logIds, supersededAt }) => supersededAt === null && logIds.includes(logId),
    );
  return (
    <>
      <h2>Measured charges</h2>
      <Problem error={logs.error} again={logs.again} />
      {logs.data !== undefined && items.length === 0 && (
        <p>
          None yet. <Link to="/import">Import</Link> the log of a charge with this stack’s name.
        </p>
      )}
      {items.length > 0 && (
        <Sheet
          label="Measured charges"
          head={['Log', 'Cycle', 'Length', 'What it says']}
          numeric={[1, 2]}
          rows={items.map((log) => [
            <Link key="log" to={`/stack-logs/${log.id}`}>
              {log.label === '' ? log.fileName : log.label}
            </Link>,
            log.cycle ?? '–',
            span(log.durationS),
            verdict(log.id)?.verdict ?? 'not compared yet',
          ])}
        />
      )}
    </>
  );
}
