import { NativeSelect } from '@mantine/core';
import { columnRoles, quantityRoles } from '../../../../server/contract/columnRoles.ts';
import type { ImportOptions, ImportPreview } from '../../../../server/contract/import.ts';
import { say } from '../../words/i18n.ts';
import { plainCode } from '../../words/reasons.ts';
import { UnitFields } from './UnitFields.tsx';

interface TableColumnsProps {
  readonly preview: ImportPreview;
  readonly options: ImportOptions;
  readonly onOptions: (options: ImportOptions) => void;
}

const durations = ['resistance/1s', 'resistance/10s', 'resistance/30s'];
const tableRoles = ['cell', 'cycle', 'soc', 'temperature', 'warning', 'operator'].filter((role) =>
  (columnRoles as readonly string[]).includes(role),
);
const roles = [...tableRoles, ...quantityRoles, ...durations];

/** What each column of a table of results is taken for; unused ones can be assigned, with their unit. */
export function TableColumns({ preview, options, onOptions }: TableColumnsProps) {
  const columns = options.columns ?? {};
  const roleOf = (source: string): string =>
    Object.entries(columns).find(([, name]) => name === source)?.[0] ??
    preview.mapping.find((one) => one.source === source)?.role ??
    '';
  return (
    <>
      {preview.header
        .filter((source) => source !== '')
        .map((source) => {
          const role = roleOf(source);
          const mapped = preview.mapping.find((one) => one.source === source);
          return (
            <NativeSelect
              key={source}
              size="xs"
              label={say('import.columnSourceIs', { source })}
              description={
                mapped?.unit == null ? undefined : say('import.inMappedUnit', { mappedUnit: mapped.unit })
              }
              value={role}
              data={[
                { value: '', label: say('import.notUsed') },
                ...(role === '' || roles.includes(role) ? roles : [role, ...roles]).map((one) => ({
                  value: one,
                  label: plainCode(one),
                })),
              ]}
              onChange={(e) => {
                const chosen = e.currentTarget.value;
                const others = Object.fromEntries(
                  Object.entries(columns).filter(([, name]) => name !== source),
                );
                const next: Record<string, string | null> = { ...others };
                if (chosen !== '') next[chosen] = source;
                else if (role !== '') next[role] = null;
                onOptions({ ...options, columns: next });
              }}
            />
          );
        })}
      <UnitFields options={options} onOptions={onOptions} without={tableRoles} />
    </>
  );
}
