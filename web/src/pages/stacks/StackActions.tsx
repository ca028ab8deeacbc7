import { Button, Group, TextInput } from '@mantine/core';
import { useState } from 'react';
import { Link, useNavigate } from 'react-router';
import type { ChangeStack, Stack } from '../../../../server/contract/stacks.ts';
import { api } from '../../api/ApiClient.ts';
import { useAction } from '../../api/useAction.ts';
import { useNotice } from '../../parts/Notices.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { say } from '../../words/i18n.ts';
import { plainCode } from '../../words/reasons.ts';
import { ConfirmStack } from './ConfirmStack.tsx';
import { LabelSize } from './LabelSize.tsx';
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
  const [typed, setTyped] = useState<string | null>(null);
  // One's own last change is known before the page has read the stack again: the next one is made from it.
  const [own, setOwn] = useState(stack);
  const latest = own.version > stack.version ? own : stack;
  const due = typed ?? latest.checkUpDueAt?.slice(0, 10) ?? '';
  const change = useAction(
    (body: ChangeStack) => api.patch('/stacks/{id}', { params, body, version: latest.version }),
    ['/stacks', '/cells', '/lots'],
    (changed, body) => {
      if (body.state !== undefined) setAsked(null);
      setOwn(changed);
      if (body.checkUpDueAt !== undefined) setTyped((now) => (now === due ? null : now));
      tell({
        text: say('stacks.changedNameIsChangedState', {
          changedName: stackTitle(changed.name),
          changedState: plainCode(changed.state),
        }),
      });
    },
  );
  const takeBack = useAction(
    () => api.delete('/stacks/{id}', { params, version: latest.version }),
    // The stack itself is gone; only the list of stacks may be asked for again.
    [{ only: '/stacks' }, '/cells', '/lots', '/pairings'],
    () => {
      tell({ text: say('stacks.thePlanOfIsCancelledIts', { stackName: stackTitle(stack.name) }) });
      void go('/stacks');
    },
  );
  return (
    <div>
      <Group gap="xs" align="end">
        {stack.state === 'planned' && (
          <>
            <Button aria-expanded={asked === 'built'} onClick={() => setAsked('built')}>
              {say('stacks.markAsBuilt2')}
            </Button>
            <Button variant="default" loading={takeBack.running} onClick={() => takeBack.run(undefined)}>
              {say('stacks.cancelPlan')}
            </Button>
          </>
        )}
        {stack.state === 'built' && (
          <Button variant="default" aria-expanded={asked === 'retired'} onClick={() => setAsked('retired')}>
            {say('stacks.retire2')}
          </Button>
        )}
        {stack.state !== 'planned' && (
          <Button
            variant="default"
            loading={change.running}
            onClick={() => change.run({ state: stack.state === 'built' ? 'planned' : 'built' })}
          >
            {stack.state === 'built' ? say('stacks.notBuiltAfterAll') : say('stacks.notRetiredAfterAll')}
          </Button>
        )}
        <Button variant="default" onClick={() => print()}>
          {say('stacks.printLabelAndTraveller')}
        </Button>
        <Button component={Link} variant="default" to={`/charge-studies/new?stack=${stack.id}`}>
          {say('stacks.chargeStudy')}
        </Button>
        <Button
          component={Link}
          variant="default"
          to={`/exports?subjectKind=stack&subjectId=${stack.id}&new=yes`}
        >
          {say('stacks.export')}
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
      <Group gap="xs" align="end" mt={6}>
        <LabelSize />
        {stack.state === 'built' && (
          <>
            <TextInput
              type="date"
              size="xs"
              label={say('stacks.nextCheckUp')}
              value={due}
              onChange={(e) => setTyped(e.currentTarget.value)}
            />
            <Button
              size="xs"
              variant="default"
              loading={change.running}
              onClick={() => change.run({ checkUpDueAt: due === '' ? null : `${due}T00:00:00.000Z` })}
            >
              {say('stacks.saveTheDate')}
            </Button>
          </>
        )}
      </Group>
      <Problem error={change.error ?? takeBack.error} />
    </div>
  );
}
