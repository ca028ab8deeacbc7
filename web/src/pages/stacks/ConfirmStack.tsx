import { Button, TextInput } from '@mantine/core';
import { useState } from 'react';
import type { ChangeStack, Stack } from '../../../../server/contract/stacks.ts';
import { say } from '../../words/i18n.ts';

interface ConfirmStackProps {
  readonly stack: Stack;
  readonly next: 'built' | 'retired';
  readonly running: boolean;
  readonly onConfirm: (change: ChangeStack) => void;
  readonly onCancel: () => void;
}

/** Says what marking a stack as built or retired means, and asks for the serial of a built one. */
export function ConfirmStack({ stack, next, running, onConfirm, onCancel }: ConfirmStackProps) {
  const [name, setName] = useState(stack.name);
  const cells = stack.cells.map((c) => c.serial).join(say('stacks.and'));
  return (
    <form
      aria-label={next === 'built' ? say('stacks.markAsBuilt') : say('stacks.retire')}
      onSubmit={(e) => {
        e.preventDefault();
        onConfirm(next === 'built' ? { state: next, name: name.trim() } : { state: next });
      }}
    >
      {next === 'built' ? (
        <>
          <p>{say('stacks.theCellsCellsStayInThis', { cells })}</p>
          <TextInput
            size="xs"
            maw={320}
            label={say('stacks.serialOrNameOfTheStack')}
            required
            value={name}
            onChange={(e) => setName(e.currentTarget.value)}
          />
        </>
      ) : (
        <p>{say('stacks.theCellsCellsAreSetAside', { cells })}</p>
      )}
      <div className="actions">
        <Button type="submit" size="xs" loading={running} disabled={name.trim() === ''}>
          {next === 'built' ? say('stacks.built') : say('stacks.retireTheStack')}
        </Button>
        <Button size="xs" variant="default" onClick={onCancel}>
          {say('stacks.cancel')}
        </Button>
      </div>
    </form>
  );
}
