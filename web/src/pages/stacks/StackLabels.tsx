import type { CSSProperties } from 'react';
import type { Stack } from '../../../../server/contract/stacks.ts';
import { day } from '../../format/time.ts';
import { ScanCode } from '../../parts/ScanCode.tsx';
import { useStored } from '../../settings/stored.ts';
import { say } from '../../words/i18n.ts';
import { labelSizeOf, labelSizes } from './labelSizes.ts';

/** Only on paper: a label for each stack with its serial as text and as a code, its cells and their polarity. */
export function StackLabels({ stacks }: { stacks: readonly Stack[] }) {
  const [size] = useStored(labelSizes);
  const { widthMm, heightMm } = labelSizeOf(size);
  const style: CSSProperties = { width: `${widthMm}mm`, height: `${heightMm}mm` };
  return (
    <section className="labels" data-small={heightMm < 20 ? '' : undefined}>
      {stacks.map((stack) => (
        <div key={stack.id} className="label" style={style}>
          <ScanCode text={stack.name} label={say('stacks.codeOfTheStack')} />
          <div>
            <strong>{stack.name}</strong>
            <Polarity stack={stack} />
            <span>{day(stack.createdAt)}</span>
          </div>
        </div>
      ))}
    </section>
  );
}

/** The cells in the order of the stack, the first at the negative end. */
function Polarity({ stack }: { stack: Stack }) {
  return (
    <span className="polarity">
      {'⊖ '}
      {stack.cells
        .map((c) => say('stacks.cellAtPlace', { position: c.position, serial: c.serial }))
        .join(' – ')}
      {' ⊕'}
    </span>
  );
}
