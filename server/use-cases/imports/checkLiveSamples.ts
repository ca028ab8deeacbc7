import type { LiveSamples } from '../../contract/liveRecords.ts';
import { type ErrorPlace, Refusal } from '../../errors.ts';
import { defaultLimits } from '../../import/limits.ts';
import type { PlausibleLimits } from '../../store/plausibleLimits.ts';
import type { StoredColumn } from '../../store/records.ts';

const fields = {
  time: 'timeS',
  voltage: 'voltageV',
  current: 'currentA',
  temperature: 'temperatureC',
} as const;
type Role = keyof typeof fields;

/**
 * The samples of a batch in storage order.
 *
 * @param lastTimeS the record's last time so far, null where it is empty
 * @throws Refusal `invalid-request` that names the first wrong sample
 */
export function checkLiveSamples(
  columns: readonly StoredColumn[],
  samples: LiveSamples,
  lastTimeS: number | null,
  plausible: PlausibleLimits,
): Float64Array[] {
  const limits = { ...defaultLimits, ...plausible };
  const ranges: Record<Role, readonly [number, number]> = {
    time: [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY],
    voltage: [limits.voltageMinV, limits.voltageMaxV],
    current: [-limits.currentMaxA, limits.currentMaxA],
    temperature: [limits.temperatureMinC, limits.temperatureMaxC],
  };
  const hasTemperature = columns.some(({ role }) => role === 'temperature');
  if (hasTemperature !== (samples.temperatureC !== undefined)) {
    throw wrong(
      'temperatureC',
      null,
      null,
      hasTemperature ? 'is missing' : 'was not announced when the test was opened',
    );
  }
  let last = lastTimeS ?? Number.NEGATIVE_INFINITY;
  samples.timeS.forEach((timeS, i) => {
    if (timeS < last) throw wrong('timeS', i, timeS, `time runs backwards, from ${last} s`);
    last = timeS;
  });
  return columns.map(({ role }) => {
    const name = role as Role;
    const values = samples[fields[name]] as number[];
    if (values.length !== samples.timeS.length) {
      throw wrong(
        fields[name],
        null,
        values.length,
        `has another length than timeS, which has ${samples.timeS.length}`,
      );
    }
    const [min, max] = ranges[name];
    const at = values.findIndex((value) => !(value >= min && value <= max));
    if (at >= 0) throw wrong(fields[name], at, values[at], `is outside ${min} to ${max}`);
    return Float64Array.from(values);
  });
}

function wrong(field: string, row: number | null, value: number | null, reason: string): Refusal {
  const place: ErrorPlace = {
    field,
    row,
    value: value === null ? null : String(value),
    reason,
    expected: 'samples in the order of time, in s, V, A and °C',
  };
  return new Refusal('invalid-request', `The samples cannot be taken: ${field} ${reason}.`, [place]);
}
