import type { CreateCellType } from '../../contract/cellTypes.ts';
import type { Chemistry } from '../../contract/chemistries.ts';
import { type ErrorPlace, fieldError, Refusal } from '../../errors.ts';

type Limits = Pick<
  CreateCellType,
  | 'chargeVoltageLimitV'
  | 'dischargeCutoffV'
  | 'chargeTemperatureMinC'
  | 'chargeTemperatureMaxC'
  | 'taperCurrentA'
  | 'maxChargeCurrentA'
  | 'maxDischargeCurrentA'
  | 'ratedCapacityAh'
>;

/** No cell is rated for more, in C of its capacity; what is above was stated in mA. Common practice, no source. */
const HIGHEST_RATE_C = 200;

/**
 * Limits must make sense with each other and with the chemistry.
 *
 * @throws Refusal naming every field that does not
 */
export function checkLimits(fields: Limits, chemistry: Chemistry): void {
  const wrong: ErrorPlace[] = [];
  const high = fields.chargeVoltageLimitV ?? chemistry.chargeVoltageLimitV;
  const low = fields.dischargeCutoffV ?? chemistry.dischargeCutoffV;
  if (low >= high) {
    wrong.push(
      fieldError('dischargeCutoffV', low, `not below the charge limit of ${high} V`, 'a lower voltage'),
    );
  }
  if (high > chemistry.plausibleVoltageMaxV) {
    wrong.push(
      fieldError(
        'chargeVoltageLimitV',
        high,
        `above what is plausible for ${chemistry.name}`,
        `at most ${chemistry.plausibleVoltageMaxV} V for each cell, not for the stack`,
      ),
    );
  }
  const cold = fields.chargeTemperatureMinC ?? chemistry.chargeTemperatureMinC;
  const hot = fields.chargeTemperatureMaxC ?? chemistry.chargeTemperatureMaxC;
  if (cold >= hot) {
    wrong.push(fieldError('chargeTemperatureMinC', cold, `not below ${hot} °C`, 'a lower temperature'));
  }
  if (
    fields.taperCurrentA !== null &&
    fields.maxChargeCurrentA !== null &&
    fields.taperCurrentA >= fields.maxChargeCurrentA
  ) {
    wrong.push(
      fieldError(
        'taperCurrentA',
        fields.taperCurrentA,
        'not below the highest charge current',
        'a smaller current',
      ),
    );
  }
  for (const field of ['maxChargeCurrentA', 'maxDischargeCurrentA'] as const) {
    const current = fields[field];
    if (current !== null && current > HIGHEST_RATE_C * fields.ratedCapacityAh) {
      const rateC = Math.round(current / fields.ratedCapacityAh);
      wrong.push(
        fieldError(
          field,
          current,
          `is ${rateC} times the rated capacity per hour`,
          'a current in A: 4,000 mA are 4',
        ),
      );
    }
  }
  if (wrong.length > 0) {
    throw new Refusal(
      'invalid-request',
      `The limits do not fit together: ${wrong.map((w) => `${w.field} ${w.reason}`).join('; ')}`,
      wrong,
    );
  }
}
