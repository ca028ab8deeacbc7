import { NativeSelect } from '@mantine/core';
import type { ImportOptions, ImportPreview } from '../../../../server/contract/import.ts';
import { say } from '../../words/i18n.ts';

const roles = [
  { role: 'frequency', name: 'frequency' },
  { role: 'real', name: say('import.realPart') },
  { role: 'imaginary', name: say('import.imaginaryPart') },
  { role: 'magnitude', name: 'magnitude' },
  { role: 'phase', name: 'phase' },
  { role: 'sweep', name: 'sweep' },
  { role: 'cell', name: 'cell' },
  { role: 'soc', name: say('import.stateOfCharge') },
  { role: 'charge', name: 'charge' },
  { role: 'voltage', name: 'voltage' },
  { role: 'temperature', name: 'temperature' },
] as const;
type Role = (typeof roles)[number]['role'];

/** Units that a column often leaves out, so that they must be stated. */
const units = {
  frequency: ['Hz', 'kHz'],
  real: ['ohm', 'mohm'],
  imaginary: ['ohm', 'mohm'],
  magnitude: ['ohm', 'mohm'],
  phase: ['deg', 'rad'],
} as const;
const unitNames: Readonly<Record<string, string>> = { ohm: 'Ω', mohm: 'mΩ', deg: 'degrees', rad: 'radians' };

interface SpectrumReadingProps {
  readonly preview: ImportPreview;
  readonly options: ImportOptions;
  readonly onOptions: (options: ImportOptions) => void;
}

/** Columns, units and sign of a table of impedance over frequency, to correct how it is understood. */
export function SpectrumReading({ preview, options, onOptions }: SpectrumReadingProps) {
  const chosen = (role: Role) => {
    const given = options.columns?.[role];
    if (given !== undefined) return given ?? '';
    return preview.mapping.find((m) => m.role === role)?.source ?? '';
  };
  return (
    <>
      <NativeSelect
        size="xs"
        label={say('import.imaginaryPartOfACapacitiveCell')}
        value={options.imaginarySign ?? ''}
        data={[
          { value: '', label: say('import.asFound') },
          { value: 'negative-capacitive', label: say('import.negativeInTheFile') },
          { value: 'positive-capacitive', label: say('import.positiveInTheFileIm') },
        ]}
        onChange={(e) => {
          const { value } = e.currentTarget;
          const { imaginarySign: _, ...rest } = options;
          onOptions(
            value === 'negative-capacitive' || value === 'positive-capacitive'
              ? { ...rest, imaginarySign: value }
              : rest,
          );
        }}
      />
      {roles.map(({ role, name }) => (
        <NativeSelect
          key={role}
          size="xs"
          label={say('import.columnOfTheName', { name })}
          value={chosen(role)}
          data={[
            { value: '', label: say('import.none') },
            ...[...new Set(preview.header)].filter((h) => h !== ''),
          ]}
          onChange={(e) => {
            const source = e.currentTarget.value;
            onOptions({ ...options, columns: { ...options.columns, [role]: source === '' ? null : source } });
          }}
        />
      ))}
      <UnitFields shown={(role) => chosen(role) !== ''} options={options} onOptions={onOptions} />
    </>
  );
}

/** The units of the columns that carry numbers, where the file does not state them. */
function UnitFields(props: {
  readonly shown: (role: Role) => boolean;
  readonly options: ImportOptions;
  readonly onOptions: (options: ImportOptions) => void;
}) {
  const { shown, options, onOptions } = props;
  return (Object.keys(units) as (keyof typeof units)[]).filter(shown).map((role) => (
    <NativeSelect
      key={role}
      size="xs"
      label={say('import.unitOfTheName', { name: roles.find((one) => one.role === role)?.name ?? role })}
      value={options.units?.[role] ?? ''}
      data={[
        { value: '', label: say('import.asTheFileStates') },
        ...units[role].map((unit) => ({ value: unit, label: unitNames[unit] ?? unit })),
      ]}
      onChange={(e) => {
        const unit = e.currentTarget.value;
        const { [role]: _, ...others } = options.units ?? {};
        onOptions({ ...options, units: unit === '' ? others : { ...others, [role]: unit } });
      }}
    />
  ));
}
