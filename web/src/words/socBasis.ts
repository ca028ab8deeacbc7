import type { EvaluatedPulseRecord } from '../../../server/contract/pulseRecord.ts';
import { significant } from '../format/number.ts';

/** In which capacity a pulse record's states of charge are counted. */
export function socBasis({
  cellCapacityAh,
  cellCapacityBasis,
  ratedCapacityAh,
}: EvaluatedPulseRecord['settings']): string {
  if (cellCapacityAh !== null)
    return `SOC is counted in the cell’s own capacity, ${significant(cellCapacityAh, 4)} Ah, ${
      cellCapacityBasis === 'stated' ? 'as stated for this evaluation' : 'as measured at this age'
    }.`;
  return ratedCapacityAh === null
    ? 'SOC is as stated.'
    : `SOC is counted in the rated ${significant(ratedCapacityAh, 4)} Ah, because the cell’s own capacity was not measured. It follows when it is.`;
}
