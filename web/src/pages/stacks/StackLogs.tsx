import { Button } from '@mantine/core';
import { Link } from 'react-router';
import { api } from '../../api/ApiClient.ts';
import { useAction } from '../../api/useAction.ts';
import { useRequest } from '../../api/useRequest.ts';
import { instant, span } from '../../format/time.ts';
import { Problem } from '../../parts/Problem.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { say } from '../../words/i18n.ts';

/** Open logs: rows may still arrive, or the sender was cut off. Closing a log reads its rows as a file is read. */
function LiveLogs({ stackId }: { stackId: number }) {
  const live = useRequest('/stacks/{id}/live-logs', { params: { id: String(stackId) } });
  const close = useAction(
    (id: number) => api.post('/live-logs/{id}/close', { params: { id } }),
    ['/stacks', '/stack-logs'],
  );
  const items = live.data?.items ?? [];
  return (
    <>
      <Problem error={live.error ?? close.error} again={live.again} />
      {items.length > 0 && (
        <Sheet
          label={say('stacks.openLogs')}
          head={[say('stacks.openLogs'), say('stacks.rows'), say('stacks.length'), say('stacks.opened'), '']}
          numeric={[1, 2]}
          rows={items.map(({ id, rowCount, lastTimeS, openedAt, openedBy }) => [
            say('stacks.liveLogId', { id }),
            rowCount,
            lastTimeS === null ? '–' : span(lastTimeS),
            `${instant(openedAt)}, ${openedBy}`,
            <Button
              key="close"
              size="compact-xs"
              variant="default"
              loading={close.running}
              disabled={rowCount === 0}
              onClick={() => close.run(id)}
            >
              {say('stacks.closeLog')}
            </Button>,
          ])}
        />
      )}
    </>
  );
}

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
      <LiveLogs stackId={stackId} />
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
