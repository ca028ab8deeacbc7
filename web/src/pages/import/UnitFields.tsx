import { TextInput } from '@mantine/core';
import type { ImportOptions } from '../../../../server/contract/import.ts';
import { say } from '../../words/i18n.ts';

interface UnitFieldsProps {
  readonly options: ImportOptions;
  readonly onOptions: (options: ImportOptions) => void;
  /** Roles of columns that have no unit. */
  readonly without?: readonly string[];
}

/** For each column that was assigned by hand a field for the unit that the file does not state. */
export function UnitFields({ options, onOptions, without = [] }: UnitFieldsProps) {
  return Object.entries(options.columns ?? {}).flatMap(([role, source]) =>
    source === null || without.includes(role)
      ? []
      : [
          <TextInput
            key={role}
            size="xs"
            label={say('import.unitOfSource', { source })}
            placeholder={say('import.asTheFileStates')}
            defaultValue={options.units?.[role] ?? ''}
            onBlur={(e) => {
              const unit = e.currentTarget.value.trim();
              const { [role]: before, ...others } = options.units ?? {};
              if (unit === (before ?? '')) return;
              onOptions({ ...options, units: unit === '' ? others : { ...others, [role]: unit } });
            }}
          />,
        ],
  );
}
