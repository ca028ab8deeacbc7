import type { EvaluatedPulseRecord } from '../../../../server/contract/pulseRecord.ts';
import { useRequest } from '../../api/useRequest.ts';
import { useUnits } from '../../settings/useUnits.ts';
import { besideImpedance, r0AboveImpedance, r0Contains } from '../../words/r0.ts';

/** What R0 contains, and how far it stands from |Z| at 1 kHz where the cell has one. */
export function R0Meaning({ result, cellId }: { result: EvaluatedPulseRecord; cellId: number | null }) {
  const [units] = useUnits();
  const { data } = useRequest(
    '/cells/{id}/measurements',
    { params: { id: cellId ?? '' }, query: { quantity: 'impedance-1khz', limit: 500 } },
    { when: cellId !== null },
  );
  const contains = r0Contains(result);
  const above = r0AboveImpedance(besideImpedance(result, data?.items ?? []), units);
  if (contains === null && above === null) return null;
  return (
    <p>
      {contains} {above}
    </p>
  );
}
