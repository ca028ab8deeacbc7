import type { EvaluatedPulseRecord } from '../../../server/contract/pulseRecord.ts';
import { significant } from '../format/number.ts';
import { say } from './i18n.ts';

/** In which capacity a pulse record's states of charge are counted. */
export function socBasis({
  cellCapacityAh,
  cellCapacityBasis,
  ratedCapacityAh,
}: EvaluatedPulseRecord['settings']): string {
  if (cellCapacityAh !== null) {
    const capacity = significant(cellCapacityAh, 4);
    return cellCapacityBasis === 'stated'
      ? say('test.socInStatedCapacity', { capacity })
      : say('test.socInMeasuredCapacity', { capacity });
  }
  return ratedCapacityAh === null
    ? say('test.socAsStated')
    : say('test.socInRatedCapacity', { capacity: significant(ratedCapacityAh, 4) });
}
