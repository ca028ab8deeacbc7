import { Button, Checkbox, TextInput } from '@mantine/core';
import { useState } from 'react';
import type { Stack } from '../../../../server/contract/stacks.ts';
import type { KeepTravellerInput } from '../../../../server/contract/travellers.ts';
import { api } from '../../api/ApiClient.ts';
import { useAction } from '../../api/useAction.ts';
import { useNotice } from '../../parts/Notices.tsx';
import { NumberField } from '../../parts/NumberField.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { say } from '../../words/i18n.ts';
import { type TravellerCheck, travellerChecks } from './travellerChecks.ts';

type Entered = Readonly<Record<string, string | number | boolean | null>>;

/** What the paper came back with, typed or scanned: measurements of the cells, kept with the stack. A cell of another serial is refused by name. */
export function TravellerResults({ stack }: { stack: Stack }) {
  const checks = travellerChecks(stack);
  const [entered, setEntered] = useState<Entered>({});
  const tell = useNotice();
  const params = { id: stack.id };
  const keep = useAction(
    (body: KeepTravellerInput, key) =>
      api.post('/stacks/{id}/travellers', { params, body, idempotencyKey: key }),
    [`/stacks/${stack.id}/travellers`, `/stacks/${stack.id}/history`, '/cells'],
    () => {
      setEntered({});
      tell({ text: say('stacks.theResultsAreKept') });
    },
  );
  const wrong = stack.cells.flatMap(({ position, serial }, i) => {
    const read = String(entered[checks[i].text] ?? '').trim();
    return read === '' || read === serial ? [] : [say('stacks.otherSerial', { serial, position, read })];
  });
  const isEmpty = !checks.some(({ text }) => isGiven(entered[text]));
  return (
    <details>
      <summary>{say('stacks.enterTheTraveller')}</summary>
      <form
        aria-label={say('stacks.enterTheTraveller')}
        onSubmit={(e) => {
          e.preventDefault();
          if (!isEmpty && wrong.length === 0) keep.run(resultsOf(stack, checks, entered));
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
        <Button type="submit" size="xs" loading={keep.running} disabled={isEmpty || wrong.length > 0}>
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
  if (check.asks.is === 'step')
    return (
      <Checkbox
        label={check.text}
        checked={value === true}
        onChange={(e) => onChange(e.currentTarget.checked)}
      />
    );
  if (check.asks.is !== 'serial')
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

function isGiven(value: Entered[string] | undefined): boolean {
  return typeof value === 'string' ? value.trim() !== '' : value === true || typeof value === 'number';
}

/** What was entered, as the service keeps it; empty fields are left out. */
function resultsOf(
  { cells }: Stack,
  checks: readonly TravellerCheck[],
  entered: Entered,
): KeepTravellerInput {
  const given = checks.filter(({ text }) => isGiven(entered[text]));
  const ofCell = (cellId: number) => {
    const result: NonNullable<KeepTravellerInput['cells']>[number] = { cellId };
    for (const { text, asks } of given) {
      if (!('cellId' in asks) || asks.cellId !== cellId) continue;
      if (asks.is === 'serial') result.serialRead = String(entered[text]).trim();
      else result[asks.is] = Number(entered[text]);
    }
    return result;
  };
  const joints = given.find(({ asks }) => asks.is === 'joints');
  return {
    cells: cells.map(({ cellId }) => ofCell(cellId)).filter((result) => Object.keys(result).length > 1),
    ...(joints === undefined ? {} : { jointsOhm: Number(entered[joints.text]) / 1000 }),
    joints: given.flatMap(({ text, asks }) =>
      asks.is === 'joint' ? [{ after: asks.after, ohm: Number(entered[text]) / 1000 }] : [],
    ),
    steps: given.flatMap(({ asks }) => (asks.is === 'step' ? [asks.step] : [])),
  };
}
