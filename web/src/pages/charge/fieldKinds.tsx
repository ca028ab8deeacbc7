import { Button, NativeSelect, TextInput } from '@mantine/core';
import { useState } from 'react';
import { readNumber } from '../../format/readNumber.ts';
import { NumberField } from '../../parts/NumberField.tsx';
import { say } from '../../words/i18n.ts';
import type { StudyFieldsProps } from './studyFieldsProps.ts';
import type { StudyInputs } from './studyInputs.ts';

type Given = {
  [K in keyof StudyInputs]: null extends StudyInputs[K] ? K : never;
}[keyof StudyInputs];
type Plain = {
  [K in keyof StudyInputs]: StudyInputs[K] extends number ? K : never;
}[keyof StudyInputs];
type Lists = {
  [K in keyof StudyInputs]: readonly number[] extends StudyInputs[K] ? K : never;
}[keyof StudyInputs];

interface FieldProps<Name> extends StudyFieldsProps {
  readonly name: Name;
  readonly label: string;
}

interface Range {
  readonly min?: number;
  readonly max?: number;
  readonly step?: number;
  readonly signed?: boolean;
}

/** A number that may be left out. */
export function Optional({
  inputs,
  onChange,
  name,
  label,
  help,
  ...range
}: FieldProps<Given> & Range & { readonly help: string }) {
  return (
    <NumberField
      size="xs"
      label={label}
      description={help}
      {...(range.signed === true ? {} : { min: 0 })}
      value={inputs[name]}
      onChange={(v) => onChange({ ...inputs, [name]: v })}
      {...range}
    />
  );
}

/** A number that is always there. */
export function Always({
  inputs,
  onChange,
  name,
  label,
  help,
  ...range
}: FieldProps<Plain> & Range & { readonly help?: string }) {
  return (
    <NumberField
      size="xs"
      label={label}
      {...(help === undefined ? {} : { description: help })}
      value={inputs[name]}
      onChange={(v) => v !== null && onChange({ ...inputs, [name]: v })}
      {...range}
    />
  );
}

/** Several numbers in one field, apart by spaces or semicolons. */
export function Numbers({
  inputs,
  onChange,
  name,
  label,
  min,
}: FieldProps<Lists> & { readonly min?: number }) {
  const [typed, setTyped] = useState<string | null>(null);
  const wrong = typed === null ? null : numbersOf(typed, min).problem;
  return (
    <TextInput
      size="xs"
      label={label}
      description={say('charge.apartBySpaces')}
      value={typed ?? inputs[name].join(' ')}
      error={wrong}
      onChange={(e) => {
        const text = e.currentTarget.value;
        setTyped(text);
        const { values, problem } = numbersOf(text, min);
        if (problem === null) onChange({ ...inputs, [name]: values });
      }}
      onBlur={() => {
        if (wrong === null) setTyped(null);
      }}
    />
  );
}

function numbersOf(
  text: string,
  min = Number.NEGATIVE_INFINITY,
): { values: number[]; problem: string | null } {
  const values: number[] = [];
  for (const part of text.split(/[\s;]+/).filter((one) => one !== '')) {
    const { value, problem } = readNumber(part.replace(/,$/, ''));
    if (value === null) return { values, problem: `${part}: ${problem ?? say('charge.notANumber')}` };
    if (value < min) return { values, problem: say('charge.partAtLeastMin', { part, min }) };
    values.push(value);
  }
  const sorted = [...new Set(values)].sort((a, b) => a - b);
  return { values: sorted, problem: sorted.length > 10 ? say('charge.atMost10') : null };
}

interface ChoiceProps<Value extends string> {
  readonly label: string;
  readonly value: Value;
  readonly choices: Readonly<Record<Value, string>>;
  readonly onChoose: (value: Value) => void;
}

/** One of several words. */
export function Choice<Value extends string>({ label, value, choices, onChoose }: ChoiceProps<Value>) {
  const names = Object.keys(choices) as Value[];
  return (
    <NativeSelect
      size="xs"
      label={label}
      value={value}
      data={names.map((name) => ({ value: name, label: choices[name] }))}
      onChange={(e) => onChoose(names.find((name) => name === e.currentTarget.value) ?? value)}
    />
  );
}

/** What values of a converter with several paths belong to. */
export const ofPaths = {
  'all-paths': say('charge.allPathsTogether'),
  'one-path': say('charge.onePath'),
} as const;

interface RowButtonsProps {
  readonly what: string;
  readonly count: number;
  readonly most: number;
  readonly onMore: () => void;
  readonly onFewer: () => void;
}

export function RowButtons({ what, count, most, onMore, onFewer }: RowButtonsProps) {
  return (
    <div className="actions">
      <Button size="compact-xs" variant="default" disabled={count >= most} onClick={onMore}>
        {count > 0
          ? say('charge.anotherWhat', { what })
          : /^[aeiou]/.test(what)
            ? say('charge.addAnWhat', { what })
            : say('charge.addAWhat', { what })}
      </Button>
      {count > 0 && (
        <Button size="compact-xs" variant="default" onClick={onFewer}>
          {say('charge.oneWhatFewer', { what })}
        </Button>
      )}
    </div>
  );
}

interface RowsProps<Row> {
  readonly what: string;
  readonly rows: readonly Row[];
  readonly most: number;
  /** The row that is added after the present ones. */
  readonly next: (rows: readonly Row[]) => Row;
  readonly onChange: (rows: readonly Row[]) => void;
  readonly children: (row: Row, change: (part: Partial<Row>) => void, index: number) => React.ReactNode;
}

/** A list of rows of fields, with buttons for one more and one fewer. */
export function Rows<Row>({ what, rows, most, next, onChange, children }: RowsProps<Row>) {
  return (
    <>
      {rows.map((row, i) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: a row has no identity but its place
        <div key={i} className="stage">
          {children(row, (part) => onChange(rows.map((r, k) => (k === i ? { ...r, ...part } : r))), i)}
        </div>
      ))}
      <RowButtons
        what={what}
        count={rows.length}
        most={most}
        onMore={() => onChange([...rows, next(rows)])}
        onFewer={() => onChange(rows.slice(0, -1))}
      />
    </>
  );
}
