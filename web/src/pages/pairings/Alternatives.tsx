import { NativeSelect } from '@mantine/core';
import type { PairingResult } from '../../../../server/contract/pairingResult.ts';
import { significant } from '../../format/number.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { useUrlState } from '../../parts/useUrlState.ts';

/** For one cell: its next best partners and what each would cost overall. */
export function Alternatives({ result }: { result: PairingResult }) {
  const [cell, setCell] = useUrlState('cell', result.alternatives[0]?.cell ?? '');
  const found = result.alternatives.find((a) => a.cell === cell);
  if (result.alternatives.length === 0) return null;
  return (
    <>
      <h2>Other partners</h2>
      <NativeSelect
        size="xs"
        maw={240}
        label="For the cell"
        value={cell}
        data={result.alternatives.map((a) => a.cell)}
        onChange={(e) => setCell(e.currentTarget.value)}
      />
      {found !== undefined &&
        (found.partners.length === 0 ? (
          <p>No other acceptable partner.</p>
        ) : (
          <Sheet
            label={`Other partners of ${cell}`}
            head={['Partner', 'Cost of that pair', 'More in total']}
            numeric={[1, 2]}
            rows={found.partners.map((p) => [
              p.cell,
              significant(p.cost, 3),
              p.totalIncrease !== null
                ? significant(p.totalIncrease, 3)
                : p.totalIncreaseAtLeast !== null
                  ? `at least ${significant(p.totalIncreaseAtLeast, 3)}`
                  : '–',
            ])}
          />
        ))}
    </>
  );
}
