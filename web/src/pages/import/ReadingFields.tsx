import { Checkbox, NativeSelect, TextInput } from '@mantine/core';
import type { ImportOptions, ImportPreview } from '../../../../server/contract/import.ts';
import { NumberField } from '../../parts/NumberField.tsx';

interface ReadingFieldsProps {
  readonly preview: ImportPreview;
  readonly options: ImportOptions;
  readonly onOptions: (options: ImportOptions) => void;
}

type ChoiceName = 'delimiter' | 'decimal' | 'encoding' | 'dateOrder' | 'afterData';

const choices: readonly {
  readonly name: ChoiceName;
  readonly label: string;
  readonly data: readonly { readonly value: string; readonly label: string }[];
}[] = [
  {
    name: 'encoding',
    label: 'Character encoding',
    data: [
      { value: 'utf-8', label: 'UTF-8' },
      { value: 'windows-1252', label: 'Windows-1252' },
    ],
  },
  {
    name: 'delimiter',
    label: 'Fields are separated by',
    data: [
      { value: ',', label: 'comma' },
      { value: ';', label: 'semicolon' },
      { value: '\t', label: 'tab' },
      { value: '|', label: 'bar' },
    ],
  },
  {
    name: 'decimal',
    label: 'Decimal mark',
    data: [
      { value: '.', label: 'point' },
      { value: ',', label: 'comma' },
    ],
  },
  {
    name: 'dateOrder',
    label: 'Order of the dates',
    data: [
      { value: 'dmy', label: 'day, month, year' },
      { value: 'mdy', label: 'month, day, year' },
    ],
  },
  {
    name: 'afterData',
    label: 'Lines after the data',
    data: [
      { value: 'leave-out', label: 'leave out' },
      { value: 'refuse', label: 'refuse the file' },
    ],
  },
];

/** How a file is written, where it was not found or found wrongly: whatever a refusal advises can be chosen here. */
export function ReadingFields({ preview, options, onOptions }: ReadingFieldsProps) {
  const several =
    (preview.creates.cells.length > 1 || preview.refusal !== null) && preview.kind !== 'step-table';
  return (
    <>
      {choices.map(({ name, label, data }) => (
        <NativeSelect
          key={name}
          size="xs"
          label={label}
          value={options[name] ?? ''}
          data={[{ value: '', label: 'as found' }, ...data]}
          onChange={(e) => {
            const { [name]: _, ...rest } = options;
            const chosen = data.find(({ value }) => value === e.currentTarget.value);
            onOptions(chosen === undefined ? rest : { ...rest, [name]: chosen.value });
          }}
        />
      ))}
      {/\.(xlsx|xlsm)$/i.test(preview.fileName) && (
        <TextInput
          size="xs"
          label="Sheet"
          description="Empty: the first one"
          defaultValue={options.sheet ?? ''}
          onBlur={(e) => {
            const { sheet: _, ...rest } = options;
            const sheet = e.currentTarget.value.trim();
            if (sheet !== (options.sheet ?? '')) onOptions(sheet === '' ? rest : { ...rest, sheet });
          }}
        />
      )}
      {(preview.kind === 'record' || preview.kind === null) && (
        <SegmentFields preview={preview} options={options} onOptions={onOptions} />
      )}
      {preview.kind === 'record' && preview.runs.length > 1 && (
        <Checkbox
          size="xs"
          label="Evaluate the runs of a cell as one record; each is kept as a test of its own"
          checked={options.runsTogether === true}
          onChange={(e) => onOptions(withFlag(options, 'runsTogether', e.currentTarget.checked))}
        />
      )}
      {several && (
        <Checkbox
          size="xs"
          label="Take the cells that are whole; report the others one by one"
          checked={options.wholeCells === true}
          onChange={(e) => onOptions(withFlag(options, 'wholeCells', e.currentTarget.checked))}
        />
      )}
      <Checkbox
        size="xs"
        label="Take it again, for another cell, if the same bytes were taken before"
        checked={options.again === true}
        onChange={(e) => onOptions(withFlag(options, 'again', e.currentTarget.checked))}
      />
    </>
  );
}

function withFlag(
  options: ImportOptions,
  name: 'wholeCells' | 'again' | 'runsTogether',
  on: boolean,
): ImportOptions {
  const { [name]: _, ...rest } = options;
  return on ? { ...rest, [name]: true } : rest;
}

const follows = [
  { value: '', label: 'does not start again' },
  { value: 'gap', label: 'follows after a gap' },
  { value: 'date', label: 'follows by a column of dates' },
  { value: 'overlap', label: 'overlaps; rows written twice are cut' },
] as const;

/** Where the time of a record starts again: how its segments follow each other. */
function SegmentFields({ preview, options, onOptions }: ReadingFieldsProps) {
  const { segments } = options;
  const columns = [...new Set(preview.header)].filter((name) => name !== '');
  const change = (next: NonNullable<ImportOptions['segments']> | null) => {
    const { segments: _, ...rest } = options;
    onOptions(next === null ? rest : { ...rest, segments: next });
  };
  return (
    <>
      <NativeSelect
        size="xs"
        label="Time of the next segment"
        value={segments?.follow ?? ''}
        data={follows.map(({ value, label }) => ({ value, label }))}
        onChange={(e) => {
          const follow = e.currentTarget.value;
          change(
            follow === 'gap' || follow === 'date' || follow === 'overlap' ? { ...segments, follow } : null,
          );
        }}
      />
      {segments?.follow === 'gap' && (
        <NumberField
          size="xs"
          label="Gap between segments, s"
          min={0}
          value={segments.gapS ?? 0}
          onChange={(gapS) => change({ ...segments, gapS: gapS ?? 0 })}
        />
      )}
      {segments?.follow === 'date' && (
        <NativeSelect
          size="xs"
          label="Column of the dates"
          value={segments.dateColumn ?? ''}
          data={[{ value: '', label: 'as found' }, ...columns]}
          onChange={(e) => {
            const { dateColumn: _, ...rest } = segments;
            change(e.currentTarget.value === '' ? rest : { ...rest, dateColumn: e.currentTarget.value });
          }}
        />
      )}
      {segments !== undefined && (
        <NativeSelect
          size="xs"
          label="Column that counts the segments"
          value={segments.column ?? ''}
          data={[{ value: '', label: 'where time runs backwards' }, ...columns]}
          onChange={(e) => {
            const { column: _, ...rest } = segments;
            change(e.currentTarget.value === '' ? rest : { ...rest, column: e.currentTarget.value });
          }}
        />
      )}
    </>
  );
}
