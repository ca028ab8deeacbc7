import { Button, Checkbox, TextInput } from '@mantine/core';
import { useState } from 'react';
import type { Stack } from '../../../../server/contract/stacks.ts';
import { api } from '../../api/ApiClient.ts';
import { useAction } from '../../api/useAction.ts';
import { written } from '../../format/number.ts';
import { useNotice } from '../../parts/Notices.tsx';
import { NumberField } from '../../parts/NumberField.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { say } from '../../words/i18n.ts';
import { type TravellerCheck, travellerChecks } from './travellerChecks.ts';

type Entered = Readonly<Record<string, string | number | boolean | null>>;

/** What the paper came back with, typed or scanned: kept as a note of the stack. A cell of another serial is refused by name. */
export function TravellerResults({ stack }: { stack: Stack }) {
  const checks = travellerChecks(stack);
  const [entered, setEntered] = useState<Entered>({});
  const tell = useNotice();
  const params = { id: stack.id };
  const keep = useAction(
    (text: string, key) => api.post('/stacks/{id}/notes', { params, body: { text }, idempotencyKey: key }),
    [`/stacks/${stack.id}/notes`, `/stacks/${stack.id}/history`],
    () => {
      setEntered({});
      tell({ text: say('stacks.theResultsAreKept') });
    },
  );
  const wrong = stack.cells.flatMap(({ position, serial }, i) => {
    const read = String(entered[checks[i].text] ?? '').trim();
    return read === '' || read === serial ? [] : [say('stacks.otherSerial', { serial, position, read })];
  });
  const lines = checks.flatMap((check) => lineOf(check, entered[check.text]));
  return (
    <details>
      <summary>{say('stacks.enterTheTraveller')}</summary>
      <form
        aria-label={say('stacks.enterTheTraveller')}
        onSubmit={(e) => {
          e.preventDefault();
          if (lines.length > 0 && wrong.length === 0)
            keep.run([`${say('stacks.travellerOf')}:`, ...lines].join('\n'));
        }}
      >
        <p className="help">{say('stacks.emptyFieldsAreNotKept')}</p>
        <div className="form">
          {checks.map((check) => (
            <CheckField
              key={check.text}
              check={check}
              value={entered[check.text] ?? null}
              onChange={(value) => setEntered({ ...entered, [check.text]: value })}
            />
          ))}
        </div>
        {wrong.map((text) => (
          <p key={text} className="problem" role="status">
            {text}
          </p>
        ))}
        <Button
          type="submit"
          size="xs"
          loading={keep.running}
          disabled={lines.length === 0 || wrong.length > 0}
        >
          {say('stacks.keepTheResults')}
        </Button>
        <Problem error={keep.error} />
      </form>
    </details>
  );
}

interface CheckFieldProps {
  readonly check: TravellerCheck;
  readonly value: string | number | boolean | null;
  readonly onChange: (value: string | number | boolean | null) => void;
}

function CheckField({ check, value, onChange }: CheckFieldProps) {
  if (check.kind === 'done')
    return (
      <Checkbox
        label={check.text}
        checked={value === true}
        onChange={(e) => onChange(e.currentTarget.checked)}
      />
    );
  if (check.kind === 'number')
    return (
      <NumberField
        size="xs"
        label={check.text}
        min={0}
        value={typeof value === 'number' ? value : null}
        onChange={onChange}
      />
    );
  return (
    <TextInput
      size="xs"
      label={check.text}
      value={typeof value === 'string' ? value : ''}
      onChange={(e) => onChange(e.currentTarget.value)}
      // A scanner types the serial and presses Enter: that must not send the form with one field filled.
      onKeyDown={(e) => {
        if (e.key === 'Enter') e.preventDefault();
      }}
    />
  );
}

function lineOf({ text }: TravellerCheck, value: Entered[string] | undefined): string[] {
  if (value === true) return [`${text}: ${say('stacks.checked')}`];
  if (typeof value === 'number') return [`${text}: ${written(String(value))}`];
  return typeof value === 'string' && value.trim() !== '' ? [`${text}: ${value.trim()}`] : [];
}
