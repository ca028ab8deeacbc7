import { NativeSelect } from '@mantine/core';
import type { SupplyPartKind } from '../../../../server/contract/supplyParts.ts';
import { useRequest } from '../../api/useRequest.ts';

export type Picked = Readonly<Record<SupplyPartKind, string>>;

/** The names of the parts that are picked. */
export function pickedNames(picked: Picked): Partial<Picked> {
  return Object.fromEntries(Object.entries(picked).filter(([, name]) => name !== ''));
}

const labels: readonly { readonly kind: SupplyPartKind; readonly label: string }[] = [
  { kind: 'source', label: 'Kept source' },
  { kind: 'cable', label: 'Kept cable' },
  { kind: 'converter', label: 'Kept converter' },
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
            { value: '', label: 'described below, or none' },
            ...items
              .filter((part) => part.kind === kind)
              .map(({ name, revision }) => ({ value: name, label: `${name} (revision ${revision})` })),
          ]}
          onChange={(e) => onPick({ ...picked, [kind]: e.currentTarget.value })}
        />
      ))}
    </div>
  );
}
