import { NativeSelect } from '@mantine/core';
import type { EvaluationSettings } from '../../../../server/contract/tests.ts';
import { NumberField } from '../../parts/NumberField.tsx';

interface ImpedanceFieldsProps {
  readonly settings: EvaluationSettings;
  readonly onChange: (settings: EvaluationSettings) => void;
}

/** How impedance spectra are evaluated; what is left empty takes its usual value. */
export function ImpedanceFields({ settings, onChange }: ImpedanceFieldsProps) {
  const number = (name: 'startSoc' | 'maxArcs' | 'fitFromHz' | 'consistencyLimit', by = 1) => ({
    value: settings[name] === undefined ? null : Number((settings[name] * by).toPrecision(12)),
    onChange: (value: number | null) => {
      const { [name]: _, ...rest } = settings;
      onChange(value !== null ? { ...rest, [name]: value / by } : rest);
    },
  });
  return (
    <>
      <NumberField
        label="SOC of the first sweep, %"
        description="Where the file states charges. Empty: as stated by the test."
        min={0}
        max={100}
        {...number('startSoc', 100)}
      />
      <NumberField
        label="Most arcs of the circuit"
        description="0 to 2. Empty: chosen by AICc."
        min={0}
        max={2}
        {...number('maxArcs')}
      />
      <NativeSelect
        label="Diffusion tail"
        value={settings.diffusionTail ?? 'auto'}
        data={[
          { value: 'auto', label: 'where AICc chooses it' },
          { value: 'always', label: 'always' },
          { value: 'never', label: 'never' },
        ]}
        onChange={(e) => {
          const { diffusionTail: _, ...rest } = settings;
          const { value } = e.currentTarget;
          onChange(value === 'always' || value === 'never' ? { ...rest, diffusionTail: value } : rest);
        }}
      />
      <NumberField
        label="Circuit from, Hz"
        description="Lower frequencies are left out of its fit. Empty: all."
        min={0}
        {...number('fitFromHz')}
      />
      <NumberField
        label="Kramers–Kronig limit, % of |Z|"
        description="Largest residual of a consistent point. Empty: 1 %, common practice."
        min={0}
        max={100}
        {...number('consistencyLimit', 100)}
      />
    </>
  );
}
