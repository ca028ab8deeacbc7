import { NativeSelect } from '@mantine/core';
import type { EvaluationSettings } from '../../../../server/contract/tests.ts';
import { NumberField } from '../../parts/NumberField.tsx';
import { say } from '../../words/i18n.ts';

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
        label={say('test.socOfTheFirstSweep')}
        description={say('test.whereTheFileStatesChargesEmpty')}
        min={0}
        max={100}
        {...number('startSoc', 100)}
      />
      <NumberField
        label={say('test.mostArcsOfTheCircuit')}
        description={say('test.n0To2EmptyChosenBy')}
        min={0}
        max={2}
        {...number('maxArcs')}
      />
      <NativeSelect
        label={say('test.diffusionTail')}
        value={settings.diffusionTail ?? 'auto'}
        data={[
          { value: 'auto', label: say('test.whereAiccChoosesIt') },
          { value: 'always', label: say('test.always') },
          { value: 'never', label: say('test.never') },
        ]}
        onChange={(e) => {
          const { diffusionTail: _, ...rest } = settings;
          const { value } = e.currentTarget;
          onChange(value === 'always' || value === 'never' ? { ...rest, diffusionTail: value } : rest);
        }}
      />
      <NumberField
        label={say('test.circuitFromHz')}
        description={say('test.lowerFrequenciesAreLeftOutOf')}
        min={0}
        {...number('fitFromHz')}
      />
      <NumberField
        label={say('test.kramersKronigLimitOfZ')}
        description={say('test.largestResidualOfAConsistentPoint')}
        min={0}
        max={100}
        {...number('consistencyLimit', 100)}
      />
    </>
  );
}
