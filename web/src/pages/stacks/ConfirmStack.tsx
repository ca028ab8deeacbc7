import { Button, TextInput } from '@mantine/core';
import { useState } from 'react';
import type { ChangeStack, Stack } from '../../../../server/contract/stacks.ts';

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
  const cells = stack.cells.map((c) => c.serial).join(' and ');
  return (
    <form
      aria-label={next === 'built' ? 'Mark as built' : 'Retire'}
      onSubmit={(e) => {
        e.preventDefault();
        onConfirm(next === 'built' ? { state: next, name: name.trim() } : { state: next });
      }}
    >
      {next === 'built' ? (
        <>
          <p>
            The cells {cells} stay in this stack, and the values they were chosen by are kept. For a day this
            can be taken back.
          </p>
          <TextInput
            size="xs"
            maw={320}
            label="Serial or name of the stack"
            required
            value={name}
            onChange={(e) => setName(e.currentTarget.value)}
          />
        </>
      ) : (
        <p>
          The cells {cells} are set aside, because they have aged together. Charge studies and exports of the
          stack stay as they are. For a day this can be taken back.
        </p>
      )}
      <div className="actions">
        <Button type="submit" size="xs" loading={running} disabled={name.trim() === ''}>
          {next === 'built' ? 'Built' : 'Retire the stack'}
        </Button>
        <Button size="xs" variant="default" onClick={onCancel}>
          Cancel
        </Button>
      </div>
    </form>
  );
}
