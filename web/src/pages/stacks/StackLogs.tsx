import { Link } from 'react-router';
import { useRequest } from '../../api/useRequest.ts';
import { span } from '../../format/time.ts';
import { Problem } from '../../parts/Problem.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { say } from '../../words/i18n.ts';

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
      <h2>{say('stacks.measuredCharges')}</h2>
      <Problem error={logs.error} again={logs.again} />
      {logs.data !== undefined && items.length === 0 && (
        <p>
          {say('stacks.noneYet')} <Link to="/import">{say('stacks.import')}</Link>{' '}
          {say('stacks.theLogOfAChargeWith')}
        </p>
      )}
      {items.length > 0 && (
        <Sheet
          label={say('stacks.measuredCharges')}
          head={[say('stacks.log'), say('stacks.cycle'), say('stacks.length'), say('stacks.whatItSays')]}
          numeric={[1, 2]}
          rows={items.map((log) => [
            <Link key="log" to={`/stack-logs/${log.id}`}>
              {log.label === '' ? log.fileName : log.label}
            </Link>,
            log.cycle ?? '–',
            span(log.durationS),
            verdict(log.id)?.verdict ?? say('stacks.notComparedYet'),
          ])}
        />
      )}
    </>
  );
}
