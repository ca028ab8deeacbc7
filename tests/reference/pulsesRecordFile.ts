import type { RecordColumns } from '../../fitting/records/record.ts';
import { numbers, readCsv } from '../support/readCsv.ts';
import { sharedPath } from '../support/required.ts';

/** A record of the shared measurements as columns. All of them count current positive on charge. */
export function readShared(path: string): RecordColumns {
  const { header, rows } = readCsv(sharedPath(`datasets/${path}`));
  const column = (name: string): Float64Array | undefined =>
    header.includes(name) ? numbers(rows, header.indexOf(name)) : undefined;
  return {
    timeS: column('time_s') as Float64Array,
    voltageV: column('voltage_V') as Float64Array,
    currentA: column('current_A') as Float64Array,
    temperatureC: column('temperature_C'),
    step: column('step'),
    chargeAh: column('charge_Ah'),
  };
}
