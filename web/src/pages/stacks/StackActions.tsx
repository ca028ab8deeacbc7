import { Button, Group, TextInput } from '@mantine/core';
import { useState } from 'react';
import { Link, useNavigate } from 'react-router';
import type { ChangeStack, Stack } from '../../../../server/contract/stacks.ts';
import { api } from '../../api/ApiClient.ts';
import { useAction } from '../../api/useAction.ts';
import { useNotice } from '../../parts/Notices.tsx';
import { Problem } from '../../parts/Problem.tsx';

/** Marks a planned stack as built, takes the plan back, sets the next check-up, or retires a built one. */
export function StackActions({ stack }: { stack: Stack }) {
  const params = { id: stack.id };
  const tell = useNotice();
  const go = useNavigate();
  const [due, setDue] = useState(stack.checkUpDueAt?.slice(0, 10) ?? '');
  const change = useAction(
    (body: ChangeStack) => api.patch('/stacks/{id}', { params, body, version: stack.version }),
    ['/stacks', '/cells', '/lots'],
    (changed) => tell({ text: `Stack ${changed.name} is ${changed.state}.` }),
  );
  const takeBack = useAction(
    () => api.delete('/stacks/{id}', { params, version: stack.version }),
    // The stack itself is gone; only the list of stacks may be asked for again.
    [{ only: '/stacks' }, '/cells', '/lots', '/pairings'],
    () => {
      tell({ text: `The plan of stack ${stack.name} is taken back; its cells are available again.` });
      void go('/stacks');
    },
  );
  return (
    <div>
      <Group gap="xs" align="end">
        {stack.state === 'planned' && (
          <>
            <Button loading={change.running} onClick={() => change.run({ state: 'built' })}>
              It is built
            </Button>
            <Button variant="default" loading={takeBack.running} onClick={() => takeBack.run(undefined)}>
              Take the plan back
            </Button>
          </>
        )}
        {stack.state === 'built' && (
          <Button variant="default" loading={change.running} onClick={() => change.run({ state: 'retired' })}>
            Retire
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
            Keep the date
          </Button>
        </Group>
      )}
      <Problem error={change.error ?? takeBack.error} />
    </div>
  );
}
