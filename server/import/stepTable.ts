import type { TestStep } from '../contract/tests.ts';
import { nameColumns } from './proposeColumns.ts';
import type { TableFile } from './readTableFile.ts';
import { RefusedFile } from './refusedFile.ts';
import { currentSignOf } from './stateColumn.ts';
import { numberAt } from './tableQuantities.ts';

const modes: readonly (readonly [RegExp, string])[] = [
  [/rest|pause|idle|ocv|open/, 'rest'],
  [/cccv|cc[-_ ]?cv/, 'constant-current-constant-voltage'],
  [/\bcv\b|_cv|constant[-_ ]?voltage/, 'constant-voltage'],
  [/\bcc\b|_cc|constant[-_ ]?current|charge|chrg|dchg|pulse/, 'constant-current'],
  [/ramp|sweep/, 'ramp'],
];

/** A step mode in our words; the instrument's own where it fits none. */
export function stepMode(text: string): string {
  const lower = text.toLowerCase();
  return modes.find(([pattern]) => pattern.test(lower))?.[1] ?? (lower === '' ? 'unknown' : lower);
}

/** A step as a table states it: with the current and temperature at its ends, which are not kept with the steps. */
export interface LoggedTestStep extends TestStep {
  /** Signed, positive on charge. */
  readonly startCurrentA: number | null;
  readonly endCurrentA: number | null;
  readonly startTemperatureC: number | null;
  /** Signed, positive on charge; null where the table states none. */
  readonly energyWh: number | null;
}

/**
 * The steps of a step table (one row per tester step), in our units, charge positive when charged.
 *
 * @throws RefusedFile `missing-column`, `missing-value`, `not-a-number`, `not-finite`
 */
export function readStepTable(table: TableFile): LoggedTestStep[] {
  const columns = nameColumns(table.header, table.units);
  const at = (pattern: RegExp): number => columns.findIndex(({ name }) => pattern.test(name));
  const places = {
    duration: at(/^(step )?duration$/),
    start: at(/^(start|step start) time$/),
    mode: at(/^(mode|step mode|step type|type)$/),
    startV: at(/^start voltage$/),
    endV: at(/^end voltage$/),
    startA: at(/^(start |mean )?current$/),
    endA: at(/^end current$/),
    startC: at(/^(start )?temperature$/),
    charged: at(/^(charge|chg|ch) (capacity|cap|amount)$|^(capacity|cap) (charge|chg)$|^charge$/),
    discharged: at(
      /^(discharge|dis|dchg|dch) (capacity|cap|amount)$|^(capacity|cap) (discharge|dchg)$|^discharge$/,
    ),
    amount: at(/^(step )?(capacity|cap|amount|q)$/),
    chargedWh: at(/^(charge|chg|ch) energy$|^energy (charge|chg)$/),
    dischargedWh: at(/^(discharge|dis|dchg|dch) energy$|^energy (discharge|dchg)$/),
    energy: at(/^(step )?energy$/),
    cycle: at(/^(cycle|loop step|loop|cycle number)$/),
  };
  if (places.duration < 0) {
    throw new RefusedFile({
      code: 'missing-column',
      row: table.dialect.headerLine,
      column: 'duration',
      reason: 'No column is recognised as the duration of the steps',
      expected: 'A step table needs a column such as duration_s',
    });
  }
  const number = (row: number, place: number): number | null => {
    if (place < 0) return null;
    const value = numberAt(table, row, place);
    const unit = columns[place].unit;
    return value === null || unit === null ? value : (value * unit.multiply) / unit.divide + unit.add;
  };
  let clockS = 0;
  return table.rows.map((row, i) => {
    const durationS = number(i, places.duration);
    if (durationS === null || durationS < 0) {
      throw new RefusedFile({
        code: 'missing-value',
        row: table.lines[i],
        column: table.header[places.duration],
        value: row[places.duration],
        reason: 'The step has no duration',
        expected: 'Every step needs a duration of 0 or more',
      });
    }
    const startTimeS = number(i, places.start) ?? clockS;
    clockS = startTimeS + durationS;
    const startA = number(i, places.startA);
    const endA = number(i, places.endA);
    const stated = places.mode < 0 ? null : currentSignOf(row[places.mode]);
    const sign = (startA ?? 0) < 0 ? -1 : stated === -1 || stated === 1 ? stated : Math.sign(startA ?? 0);
    // Some tables write amounts without a sign in one column, others in one for each direction.
    const amountOf = (inAt: number, outAt: number, bothAt: number): number | null => {
      const [charged, discharged, both] = [number(i, inAt), number(i, outAt), number(i, bothAt)];
      if (charged !== null || discharged !== null) return Math.abs(charged ?? 0) - Math.abs(discharged ?? 0);
      if (both === null || both < 0 || both === 0) return both;
      return sign === 0 ? null : both * sign;
    };
    return {
      position: i,
      origin: 'table',
      mode: places.mode < 0 ? 'unknown' : stepMode(row[places.mode]),
      startTimeS,
      durationS,
      startRow: null,
      endRow: null,
      meanCurrentA: startA === null ? null : endA === null ? startA : (startA + endA) / 2,
      startVoltageV: number(i, places.startV),
      endVoltageV: number(i, places.endV),
      chargeAh: amountOf(places.charged, places.discharged, places.amount),
      cycle: number(i, places.cycle),
      startCurrentA: startA,
      endCurrentA: endA,
      startTemperatureC: number(i, places.startC),
      energyWh: amountOf(places.chargedWh, places.dischargedWh, places.energy),
    };
  });
}
