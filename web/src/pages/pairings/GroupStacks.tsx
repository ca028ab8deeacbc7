import type { PairingResult } from '../../../../server/contract/pairingResult.ts';
import { significant } from '../../format/number.ts';
import { Sheet } from '../../parts/Sheet.tsx';

/** Stacks of three or more cells as found: which cells stand together, and what they cost. */
export function GroupStacks({ groups }: { groups: NonNullable<PairingResult['groups']> }) {
  if (groups.stacks.length === 0) return <p>No full stack could be formed within the limits.</p>;
  return (
    <Sheet
      label="Stacks"
      maxHeight={520}
      head={['Stack', 'Cells', 'Cost']}
      numeric={[0, 2]}
      rows={groups.stacks.map((s, i) => [i + 1, s.cells.join(', '), significant(s.cost, 3)])}
    />
  );
}
