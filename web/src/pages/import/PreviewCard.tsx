import { Button, MultiSelect, NativeSelect } from '@mantine/core';
import { useState } from 'react';
import type { ImportOptions, ImportPreview } from '../../../../server/contract/import.ts';
import { significant } from '../../format/number.ts';
import { span } from '../../format/time.ts';
import { Said } from '../../parts/Said.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { say } from '../../words/i18n.ts';
import { plainCode, roleWords } from '../../words/reasons.ts';
import { FileSerial } from './FileSerial.tsx';
import { KeepReading } from './KeepReading.tsx';
import { ReadingFields } from './ReadingFields.tsx';
import { RecordPicture } from './RecordPicture.tsx';
import { RefusalText } from './RefusalText.tsx';
import { SpectrumReading } from './SpectrumReading.tsx';
import { StackLogColumns, StackOfLog } from './StackLogReading.tsx';
import { TableColumns } from './TableColumns.tsx';

const roles = ['time', 'voltage', 'current', 'temperature', 'step', 'cycle', 'cell', 'run', 'state'] as const;
type Role = (typeof roles)[number];

export interface PreviewCardProps {
  readonly preview: ImportPreview;
  readonly options: ImportOptions;
  readonly onOptions: (options: ImportOptions) => void;
}

/** How one file is understood, and the means to correct it: kind, columns, units and the sign of the current. */
export function PreviewCard({ preview, options, onOptions }: PreviewCardProps) {
  // Many files at once stay a short list: the fields stand open only where the reading is in doubt.
  const [open, setOpen] = useState(preview.refusal !== null || preview.signCheck?.verdict === 'reversed');
  // A header that says nothing may still be that of a record, once its columns are named.
  const kind = options.kind ?? preview.kind;
  const chosen = (role: Role) => {
    const given = options.columns?.[role];
    if (given !== undefined) return given ?? '';
    return preview.mapping.find((m) => m.role === role)?.source ?? '';
  };
  const assign = (role: Role, source: string) =>
    onOptions({ ...options, columns: { ...options.columns, [role]: source === '' ? null : source } });
  return (
    <div>
      {preview.refusal !== null && <RefusalText refusal={preview.refusal} />}
      {preview.warnings.map((w) => (
        <p key={w} className="warning">
          <Said text={w} />
        </p>
      ))}
      <p>
        {say('import.createsPreview', { preview: creates(preview) })}
        {preview.proposedMap !== null && (
          <> {say('import.readWithTheSavedColumnMap', { proposedMap: preview.proposedMap })}</>
        )}
      </p>
      {kind === 'stack-log' ? (
        <StackOfLog preview={preview} options={options} onOptions={onOptions} />
      ) : (
        <FileSerial preview={preview} options={options} onOptions={onOptions} />
      )}
      <details open={open} onToggle={(e) => setOpen(e.currentTarget.open)}>
        <summary>{say('import.changeHowThisFileIsRead')}</summary>
        <div className="form">
          <NativeSelect
            size="xs"
            label={say('import.theFileIs')}
            value={options.kind ?? preview.kind ?? ''}
            data={[
              { value: '', label: say('import.notRecognised') },
              { value: 'record', label: say('import.aRecordSamplesOverTime') },
              { value: 'stack-log', label: say('import.aStackLogOneChargeOf') },
              { value: 'cell-table', label: say('import.aCellTableOneRowPer') },
              { value: 'cycle-table', label: say('import.aCycleTableOneRowPer') },
              { value: 'step-table', label: say('import.aStepTableOneRowPer') },
              { value: 'impedance-table', label: say('import.anImpedanceTableOneRowPer') },
            ]}
            onChange={(e) => onOptions({ ...options, kind: kindOf(e.currentTarget.value) })}
          />
          <NativeSelect
            size="xs"
            label={say('import.signOfTheCurrent')}
            value={options.currentSign ?? ''}
            data={[
              { value: '', label: say('import.asFound') },
              { value: 'charge-positive', label: say('import.positiveOnCharge') },
              { value: 'discharge-positive', label: say('import.positiveOnDischarge') },
            ]}
            onChange={(e) => {
              const value = e.currentTarget.value;
              const { currentSign: _, ...rest } = options;
              onOptions(
                value === 'charge-positive' || value === 'discharge-positive'
                  ? { ...rest, currentSign: value }
                  : rest,
              );
            }}
          />
          {(kind === 'record' || kind === null) &&
            roles.map((role) => (
              <NativeSelect
                key={role}
                size="xs"
                label={say('import.columnOfTheRole', { role: roleWords(role) })}
                value={chosen(role)}
                data={[
                  { value: '', label: say('import.none') },
                  ...[...new Set(preview.header)].filter((h) => h !== ''),
                ]}
                onChange={(e) => assign(role, e.currentTarget.value)}
              />
            ))}
          {kind === 'record' && (
            <MultiSelect
              size="xs"
              label={say('import.columnsThatTellTheRunsApart')}
              placeholder={say('import.asFound')}
              data={[...new Set(preview.header)].filter((h) => h !== '')}
              value={options.runColumns ?? []}
              onChange={(next) => {
                const { runColumns: _, ...rest } = options;
                onOptions(next.length === 0 ? rest : { ...rest, runColumns: next });
              }}
            />
          )}
          {kind === 'stack-log' && (
            <StackLogColumns preview={preview} options={options} onOptions={onOptions} />
          )}
          {(kind === 'cell-table' || kind === 'cycle-table') && (
            <TableColumns preview={preview} options={options} onOptions={onOptions} />
          )}
          <ReadingFields preview={preview} options={options} onOptions={onOptions} />
          {(options.kind ?? preview.kind) === 'impedance-table' && (
            <SpectrumReading preview={preview} options={options} onOptions={onOptions} />
          )}
        </div>
      </details>
      <RecordPicture preview={preview} />
      <Preamble preview={preview} options={options} onOptions={onOptions} />
      <KeepReading preview={preview} options={options} />
      <Understood preview={preview} />
    </div>
  );
}

/** What the lines above the header say, with what of it can be used. */
function Preamble({ preview, options, onOptions }: PreviewCardProps) {
  if (preview.preamble.length === 0) return null;
  return (
    <details>
      <summary>{say('import.whatTheFileSaysAboveIts')}</summary>
      <ul>
        {preview.preamble.map(({ name, value, use }) => (
          <li key={`${name} ${value}`}>
            {name}: {value}
            {use === 'cell' && options.cell !== value && (
              <Button
                size="compact-xs"
                variant="subtle"
                onClick={() => onOptions({ ...options, cell: value })}
              >
                {say('import.useAsTheSerial')}
              </Button>
            )}
            {use === 'label' && options.label !== value && (
              <Button
                size="compact-xs"
                variant="subtle"
                onClick={() => onOptions({ ...options, label: value })}
              >
                {say('import.useAsTheLabel')}
              </Button>
            )}
            {use === 'temperature' && Number.isFinite(Number.parseFloat(value)) && (
              <Button
                size="compact-xs"
                variant="subtle"
                onClick={() => onOptions({ ...options, temperatureC: Number.parseFloat(value) })}
              >
                {say('import.useAsTheTemperature')}
              </Button>
            )}
          </li>
        ))}
      </ul>
    </details>
  );
}

const kinds = ['record', 'stack-log', 'cell-table', 'cycle-table', 'step-table', 'impedance-table'] as const;

function kindOf(text: string): ImportOptions['kind'] {
  return kinds.find((kind) => kind === text);
}

function creates(preview: ImportPreview): string {
  const { cells, tests, lot, stack } = preview.creates;
  if (preview.kind === 'stack-log')
    return stack === null
      ? say('import.aMeasuredChargeOnceItsStack')
      : say('import.aMeasuredChargeOfTheStack', { stack });
  const parts = [
    cells.length === 0
      ? say('import.noNewCell')
      : cells.length <= 4
        ? say('import.theWordCells', {
            word: cells.length === 1 ? say('import.cell') : say('import.cells'),
            cells: cells.join(', '),
          })
        : say('import.cellsCellsCells2', { cells: cells.length, cells2: cells.slice(0, 3).join(', ') }),
    `${tests} ${tests === 1 ? say('import.test') : say('import.tests')}`,
  ];
  return `${parts.join(say('import.and'))}${lot === null ? '' : say('import.inTheLotLot', { lot })}`;
}

/** Units, first rows and steps as understood. */
function Understood({ preview }: { preview: ImportPreview }) {
  const shown = preview.firstRows.length > 0;
  return (
    <details>
      <summary>{say('import.firstRowsAsUnderstood')}</summary>
      {preview.mapping.length > 0 && (
        <Sheet
          label={say('import.columnsAsUnderstood')}
          head={[
            say('import.role'),
            say('import.column'),
            say('import.unit'),
            say('import.unitFrom'),
            say('import.sign'),
          ]}
          rows={preview.mapping.map((m) => [
            roleWords(m.role),
            m.source,
            m.unit === null
              ? '–'
              : m.keptUnit !== null && m.keptUnit !== m.unit
                ? `${m.unit} → ${m.keptUnit}`
                : m.unit,
            m.unitFrom === null ? '–' : plainCode(m.unitFrom),
            m.signTurned ? say('import.turnedRound') : '',
          ])}
        />
      )}
      {shown && (
        <Sheet
          label={say('import.firstRows')}
          head={rowHead(preview)}
          numeric={preview.firstRows[0].map((_, i) => i)}
          rows={preview.firstRows
            .slice(0, 10)
            .map((r) => r.map((v) => (v === null ? '–' : significant(v, 6))))}
        />
      )}
      {!shown && preview.firstTexts.length > 0 && (
        <Sheet
          label={say('import.firstRows')}
          head={unique(preview.header)}
          rows={preview.firstTexts.slice(0, 10)}
        />
      )}
      {preview.steps.length > 0 && (
        <Sheet
          label={say('import.stepsFound')}
          head={[say('import.step'), say('import.from'), say('import.lasts'), say('import.currentA')]}
          numeric={[1, 2, 3]}
          rows={preview.steps
            .slice(0, 20)
            .map((s) => [
              plainCode(s.kind),
              span(s.startS),
              span(s.endS - s.startS),
              significant(s.currentA, 3),
            ])}
        />
      )}
    </details>
  );
}

function rowHead(preview: ImportPreview): string[] {
  const width = preview.firstRows[0]?.length ?? 0;
  // Columns that tell runs or signs apart hold no numbers of the rows.
  const numbers = preview.mapping.filter(({ role }) => !['cell', 'run', 'state', 'segment'].includes(role));
  const names = numbers.map((m) =>
    m.keptUnit === null ? roleWords(m.role) : `${roleWords(m.role)}, ${m.keptUnit}`,
  );
  return unique(Array.from({ length: width }, (_, i) => names[i] ?? say('import.columnI', { i: i + 1 })));
}

/** Heads of a table must differ. */
function unique(names: readonly string[]): string[] {
  return names.map((name, i) => (names.indexOf(name) === i && name !== '' ? name : `${name} (${i + 1})`));
}
