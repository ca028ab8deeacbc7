import { NativeSelect } from '@mantine/core';
import { useStored } from '../../settings/stored.ts';
import { say } from '../../words/i18n.ts';
import { keyOf, labelSizes, sizesOfLabels } from './labelSizes.ts';

/** Chooses the size of the labels that are printed. */
export function LabelSize() {
  const [size, setSize] = useStored(labelSizes);
  return (
    <NativeSelect
      size="xs"
      label={say('stacks.labelSize')}
      value={size}
      data={sizesOfLabels.map((one) => ({
        value: keyOf(one),
        label: say('stacks.sizeWidthHeight', { width: one.widthMm, height: one.heightMm }),
      }))}
      onChange={(e) => setSize(e.currentTarget.value)}
    />
  );
}
