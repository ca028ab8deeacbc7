import { Checkbox, NativeSelect, TextInput } from '@mantine/core';
import type { ImportOptions, ImportPreview } from '../../../../server/contract/import.ts';
import { NumberField } from '../../parts/NumberField.tsx';
import { say } from '../../words/i18n.ts';

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
    label: say('import.characterEncoding'),
    data: [
      { value: 'utf-8', label: say('import.utf8') },
      { value: 'windows-1252', label: say('import.windows1252') },
    ],
  },
  {
    name: 'delimiter',
    label: say('import.fieldsAreSeparatedBy'),
    data: [
      { value: ',', label: say('import.comma') },
      { value: ';', label: say('import.semicolon') },
      { value: '\t', label: say('import.tab') },
      { value: '|', label: say('import.bar') },
    ],
  },
  {
    name: 'decimal',
    label: say('import.decimalMark'),
    data: [
      { value: '.', label: say('import.point') },
      { value: ',', label: say('import.comma') },
    ],
  },
  {
    name: 'dateOrder',
    label: say('import.orderOfTheDates'),
    data: [
      { value: 'dmy', label: say('import.dayMonthYear') },
      { value: 'mdy', label: say('import.monthDayYear') },
    ],
  },
  {
    name: 'afterData',
    label: say('import.linesAfterTheData'),
    data: [
      { value: 'leave-out', label: say('import.leaveOut') },
      { value: 'refuse', label: say('import.refuseTheFile') },
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
          data={[{ value: '', label: say('import.asFound') }, ...data]}
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
          label={say('import.sheet')}
          description={say('import.emptyTheFirstOne')}
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
          label={say('import.evaluateTheRunsOfACell')}
          checked={options.runsTogether === true}
          onChange={(e) => onOptions(withFlag(options, 'runsTogether', e.currentTarget.checked))}
        />
      )}
      {several && (
        <Checkbox
          size="xs"
          label={say('import.takeTheCellsThatAreWhole')}
          checked={options.wholeCells === true}
          onChange={(e) => onOptions(withFlag(options, 'wholeCells', e.currentTarget.checked))}
        />
      )}
      <Checkbox
        size="xs"
        label={say('import.takeItAgainForAnotherCell')}
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
  { value: '', label: say('import.doesNotStartAgain') },
  { value: 'gap', label: say('import.followsAfterAGap') },
  { value: 'date', label: say('import.followsByAColumnOfDates') },
  { value: 'overlap', label: say('import.overlapsRowsWrittenTwiceAreCut') },
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
        label={say('import.timeOfTheNextSegment')}
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
          label={say('import.gapBetweenSegmentsS')}
          min={0}
          value={segments.gapS ?? 0}
          onChange={(gapS) => change({ ...segments, gapS: gapS ?? 0 })}
        />
      )}
      {segments?.follow === 'date' && (
        <NativeSelect
          size="xs"
          label={say('import.columnOfTheDates')}
          value={segments.dateColumn ?? ''}
          data={[{ value: '', label: say('import.asFound') }, ...columns]}
          onChange={(e) => {
            const { dateColumn: _, ...rest } = segments;
            change(e.currentTarget.value === '' ? rest : { ...rest, dateColumn: e.currentTarget.value });
          }}
        />
      )}
      {segments !== undefined && (
        <NativeSelect
          size="xs"
          label={say('import.columnThatCountsTheSegments')}
          value={segments.column ?? ''}
          data={[{ value: '', label: say('import.whereTimeRunsBackwards') }, ...columns]}
          onChange={(e) => {
            const { column: _, ...rest } = segments;
            change(e.currentTarget.value === '' ? rest : { ...rest, column: e.currentTarget.value });
          }}
        />
      )}
    </>
  );
}
