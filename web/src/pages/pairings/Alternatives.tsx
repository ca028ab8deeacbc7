import { NativeSelect } from '@mantine/core';
import type { PairingResult } from '../../../../server/contract/pairingResult.ts';
import { significant } from '../../format/number.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { useUrlState } from '../../parts/useUrlState.ts';
import { say } from '../../words/i18n.ts';

/** For one cell: its next best partners and what each would cost overall. */
export function Alternatives({ result }: { result: PairingResult }) {
  const [cell, setCell] = useUrlState('cell', result.alternatives[0]?.cell ?? '');
  const found = result.alternatives.find((a) => a.cell === cell);
  if (result.alternatives.length === 0) return null;
  return (
    <>
      <h2>{say('pairings.otherPartners')}</h2>
      <NativeSelect
        size="xs"
        maw={240}
        label={say('pairings.forTheCell')}
        value={cell}
        data={result.alternatives.map((a) => a.cell)}
        onChange={(e) => setCell(e.currentTarget.value)}
      />
      {found !== undefined &&
        (found.partners.length === 0 ? (
          <p>{say('pairings.noOtherAcceptablePartner')}</p>
        ) : (
          <Sheet
            label={say('pairings.otherPartnersOfCell', { cell })}
            head={[say('pairings.partner'), say('pairings.costOfThatPair'), say('pairings.moreInTotal')]}
            numeric={[1, 2]}
            rows={found.partners.map((p) => [
              p.cell,
              significant(p.cost, 3),
              p.totalIncrease !== null
                ? significant(p.totalIncrease, 3)
                : p.totalIncreaseAtLeast !== null
                  ? say('pairings.atLeastTotalIncreaseAtLeast', {
                      totalIncreaseAtLeast: significant(p.totalIncreaseAtLeast, 3),
                    })
                  : '–',
            ])}
          />
        ))}
    </>
  );
}
