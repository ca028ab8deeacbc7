import { NativeSelect } from '@mantine/core';
import type { SupplyPartKind } from '../../../../server/contract/supplyParts.ts';
import { useRequest } from '../../api/useRequest.ts';
import { say } from '../../words/i18n.ts';

export type Picked = Readonly<Record<SupplyPartKind, string>>;

/** The names of the parts that are picked. */
export function pickedNames(picked: Picked): Partial<Picked> {
  return Object.fromEntries(Object.entries(picked).filter(([, name]) => name !== ''));
}

const labels: readonly { readonly kind: SupplyPartKind; readonly label: string }[] = [
  { kind: 'source', label: say('charge.keptSource') },
  { kind: 'cable', label: say('charge.keptCable') },
  { kind: 'converter', label: say('charge.keptConverter') },
];

/** Picks kept parts for a study; a part that is picked takes the place of the fields about it. */
export function PickedParts({ picked, onPick }: { picked: Picked; onPick: (picked: Picked) => void }) {
  const parts = useRequest('/supply-parts');
  const items = parts.data?.items ?? [];
  if (items.length === 0) return null;
  return (
    <div className="sheet-tools">
      {labels.map(({ kind, label }) => (
        <NativeSelect
          key={kind}
          label={label}
          value={picked[kind]}
          data={[
            { value: '', label: say('charge.describedBelowOrNone') },
            ...items
              .filter((part) => part.kind === kind)
              .map(({ name, revision }) => ({
                value: name,
                label: say('charge.nameRevisionRevision', { name, revision }),
              })),
          ]}
          onChange={(e) => onPick({ ...picked, [kind]: e.currentTarget.value })}
        />
      ))}
    </div>
  );
}
