import { useSearchParams } from 'react-router';
import type { EvaluatedPulse } from '../../../../server/contract/evaluatedPulse.ts';
import type { EvaluatedPulseRecord } from '../../../../server/contract/pulseRecord.ts';
import { windowTextOf } from './recordWindow.ts';

/** The pulse that is shown in the record with its fit, by its index in the address, and how to show another. */
export function useShownPulse({
  record,
}: EvaluatedPulseRecord): [string | null, (pulse: EvaluatedPulse) => void] {
  const [search, setSearch] = useSearchParams();
  const show = (p: EvaluatedPulse) => {
    const next = new URLSearchParams(search);
    const margin = Math.max(2, p.durationS * 0.5);
    next.set('pulse', String(p.index));
    next.set(
      'window',
      windowTextOf(p.startTimeS - margin, p.startTimeS + p.durationS * 3 + margin, record.durationS),
    );
    setSearch(next, { replace: true, preventScrollReset: true });
    document.getElementById('page')?.scrollIntoView({ block: 'start' });
  };
  return [search.get('pulse'), show];
}
