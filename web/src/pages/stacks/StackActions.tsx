import { Button, Group, TextInput } from '@mantine/core';
import { useState } from 'react';
import { Link, useNavigate } from 'react-router';
import type { ChangeStack, Stack } from '../../../../server/contract/stacks.ts';
import { api } from '../../api/ApiClient.ts';
import { useAction } from '../../api/useAction.ts';
import { useNotice } from '../../parts/Notices.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { ConfirmStack } from './ConfirmStack.tsx';
import { stackTitle } from './stackTitle.ts';

/**
 * Marks a planned stack as built, cancels the plan, sets the next check-up, or retires a built one. What cannot be undone
 * later than a day is said first.
 */
export function StackActions({ stack }: { stack: Stack }) {
  const params = { id: stack.id };
  const tell = useNotice();
  const go = useNavigate();
  const [asked, setAsked] = useState<'built' | 'retired' | null>(null);
  const [due, setDue] = useState(stack.checkUpDueAt?.slice(0, 10) ?? '');
  const change = useAction(
    (body: ChangeStack) => api.patch('/stacks/{id}', { params, body, version: stack.version }),
    ['/stacks', '/cells', '/lots'],
    (changed) => {
      setAsked(null);
      tell({ text: `${stackTitle(changed.name)} is ${changed.state}.` });
    },
  );
  const takeBack = useAction(
    () => api.delete('/stacks/{id}', { params, version: stack.version }),
    // The stack itself is gone; only the list of stacks may be asked for again.
    [{ only: '/stacks' }, '/cells', '/lots', '/pairings'],
    () => {
      tell({ text: `The plan of ${stackTitle(stack.name)} is cancelled; its cells are available again.` });
      void go('/stacks');
    },
  );
  return (
    <div>
      <Group gap="xs" align="end">
        {stack.state === 'planned' && (
          <>
            <Button aria-expanded={asked === 'built'} onClick={() => setAsked('built')}>
              Mark as built…
            </Button>
            <Button variant="default" loading={takeBack.running} onClick={() => takeBack.run(undefined)}>
              Cancel plan
            </Button>
          </>
        )}
        {stack.state === 'built' && (
          <Button variant="default" aria-expanded={asked === 'retired'} onClick={() => setAsked('retired')}>
            Retire…
          </Button>
        )}
        {stack.state !== 'planned' && (
          <Button
            variant="default"
            loading={change.running}
            onClick={() => change.run({ state: stack.state === 'built' ? 'planned' : 'built' })}
          >
            {stack.state === 'built' ? 'Not built after all' : 'Not retired after all'}
          </Button>
        )}
        <Button variant="default" onClick={() => print()}>
          Print label and traveller
        </Button>
        <Button component={Link} variant="default" to={`/charge-studies/new?stack=${stack.id}`}>
          Charge study
        </Button>
        <Button
          component={Link}
          variant="default"
          to={`/exports?subjectKind=stack&subjectId=${stack.id}&new=yes`}
        >
          Export
        </Button>
      </Group>
      {asked !== null && (
        <ConfirmStack
          key={asked}
          stack={stack}
          next={asked}
          running={change.running}
          onConfirm={(body) => change.run(body)}
          onCancel={() => setAsked(null)}
        />
      )}
      {stack.state === 'built' && (
        <Group gap="xs" align="end" mt={6}>
          <TextInput
            type="date"
            size="xs"
            label="Next check-up"
            value={due}
            onChange={(e) => setDue(e.currentTarget.value)}
          />
          <Button
            size="xs"
            variant="default"
            onClick={() => change.run({ checkUpDueAt: due === '' ? null : `${due}T00:00:00.000Z` })}
          >
            Save the date
          </Button>
        </Group>
      )}
      <Problem error={change.error ?? takeBack.error} />
    </div>
  );
}
