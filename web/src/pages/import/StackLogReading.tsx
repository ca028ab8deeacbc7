import { NativeSelect } from '@mantine/core';
import { stackLogCellRoles, stackLogRoles } from '../../../../server/contract/columnRoles.ts';
import type { ImportOptions, ImportPreview } from '../../../../server/contract/import.ts';
import { useRequest } from '../../api/useRequest.ts';
import { NumberField } from '../../parts/NumberField.tsx';
import { say } from '../../words/i18n.ts';
import { roleWords } from '../../words/reasons.ts';
import { UnitFields } from './UnitFields.tsx';

interface StackLogReadingProps {
  readonly preview: ImportPreview;
  readonly options: ImportOptions;
  readonly onOptions: (options: ImportOptions) => void;
}

/** Which stack a log is of, and how old it was. */
export function StackOfLog({ preview, options, onOptions }: StackLogReadingProps) {
  const stacks = useRequest('/stacks', { query: { limit: 500 } });
  if ((options.kind ?? preview.kind) !== 'stack-log') return null;
  const number = (name: 'cycle' | 'efc', value: number | null) => {
    const { [name]: _, ...rest } = options;
    onOptions(value === null ? rest : { ...rest, [name]: value });
  };
  return (
    <div className="form">
      <NativeSelect
        size="xs"
        label={say('import.stackThatTheLogIsOf')}
        value={options.stack ?? ''}
        data={[
          { value: '', label: say('import.choose') },
          ...(stacks.data?.items.map(({ name, cells }) => ({
            value: name,
            label: `${name} (${cells.map(({ serial }) => serial).join(' + ')})`,
          })) ?? []),
        ]}
        onChange={(e) => {
          const { stack: _, ...rest } = options;
          onOptions(e.currentTarget.value === '' ? rest : { ...rest, stack: e.currentTarget.value });
        }}
      />
      <NumberField
        size="xs"
        label={say('import.cyclesItHadBehindIt')}
        min={0}
        value={options.cycle ?? null}
        onChange={(value) => number('cycle', value)}
      />
      <NumberField
        size="xs"
        label={say('import.equivalentFullCycles')}
        min={0}
        value={options.efc ?? null}
        onChange={(value) => number('efc', value)}
      />
    </div>
  );
}

/** Cells that can be assigned: those found, and two more. */
const SPARE_CELLS = 2;

/** Which column of a stack log is what. */
export function StackLogColumns({ preview, options, onOptions }: StackLogReadingProps) {
  const found = preview.mapping.filter(({ role }) => role.startsWith('cell-voltage-')).length;
  const cells = Array.from({ length: Math.min(found + SPARE_CELLS, 9) }, (_, k) => k + 1);
  const roles = [
    'time',
    ...cells.map((k) => `${stackLogCellRoles[0]}-${k}`),
    ...stackLogRoles,
    ...cells.map((k) => `${stackLogCellRoles[1]}-${k}`),
  ];
  const columns = [...new Set(preview.header)].filter((name) => name !== '');
  const chosen = (role: string) => {
    const given = options.columns?.[role];
    if (given !== undefined) return given ?? '';
    return preview.mapping.find((one) => one.role === role)?.source ?? '';
  };
  return (
    <>
      {roles.map((role) => (
        <NativeSelect
          key={role}
          size="xs"
          label={say('import.columnOfTheRole', { role: roleWords(role) })}
          value={chosen(role)}
          data={[{ value: '', label: say('import.none') }, ...columns]}
          onChange={(e) => {
            const source = e.currentTarget.value;
            onOptions({ ...options, columns: { ...options.columns, [role]: source === '' ? null : source } });
          }}
        />
      ))}
      <UnitFields options={options} onOptions={onOptions} />
    </>
  );
}
