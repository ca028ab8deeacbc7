import type { Context } from '../../context.ts';
import type { CreateChemistry } from '../../contract/chemistries.ts';
import { listChemistries } from '../../store/chemistries.ts';
import { createChemistry } from './createChemistry.ts';

const basis = 'common practice, no source; the datasheet of the cell decides';

/** Above the charge limit by more than this a voltage is taken for an error of the file; common practice, no source. */
const MARGIN_ABOVE_V = 0.5;

/** [name, nominal V, charge limit V, cut-off V, usual charge rate C]; common practice, no source. */
const usual: readonly (readonly [string, number, number, number, number])[] = [
  ['LCO / graphite', 3.7, 4.2, 3.0, 1],
  ['LCO / graphite, high voltage', 3.85, 4.4, 3.0, 1],
  ['NMC / graphite', 3.65, 4.2, 2.5, 1],
  ['NCA / graphite', 3.6, 4.2, 2.5, 1],
  ['LMO / graphite', 3.7, 4.2, 3.0, 1],
  ['LFP / graphite', 3.2, 3.65, 2.0, 1],
  ['NMC / titanate', 2.3, 2.8, 1.5, 5],
];

/** Gives an empty database the usual chemistries to begin with; does nothing where there is one already. */
export async function addDefaultChemistries(context: Context): Promise<void> {
  if ((await listChemistries(context.store)).length > 0) return;
  for (const [name, nominalVoltageV, chargeVoltageLimitV, dischargeCutoffV, usualChargeRateC] of usual) {
    const fields: CreateChemistry = {
      name,
      description: '',
      nominalVoltageV,
      chargeVoltageLimitV,
      dischargeCutoffV,
      // A deeply discharged cell reads close to nothing; less than nothing is a fault of the file.
      plausibleVoltageMinV: -0.1,
      plausibleVoltageMaxV: chargeVoltageLimitV + MARGIN_ABOVE_V,
      usualChargeRateC,
      chargeTemperatureMinC: 0,
      chargeTemperatureMaxC: 45,
      basis,
    };
    await createChemistry(context, fields);
  }
}
