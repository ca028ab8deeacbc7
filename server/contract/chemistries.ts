import { z } from 'zod';
import { givenName, id, remark, version } from './common.ts';

const volts = z.number().min(0).max(10);

/** General defaults of a chemistry. The cell type's datasheet overrides each of them. */
const chemistryFields = z.object({
  name: givenName,
  description: remark.default(''),
  nominalVoltageV: volts,
  chargeVoltageLimitV: volts,
  dischargeCutoffV: volts,
  /** Imported voltages outside these limits are refused as impossible. */
  plausibleVoltageMinV: z.number().min(-1).max(10),
  plausibleVoltageMaxV: z.number().min(0).max(20),
  /** Usual highest charge rate in C of rated capacity. */
  usualChargeRateC: z.number().positive().max(100),
  chargeTemperatureMinC: z.number().min(-60).max(100),
  chargeTemperatureMaxC: z.number().min(-60).max(150),
  /** Where the figures come from. */
  basis: z.string().min(1).max(400),
});

export const chemistry = chemistryFields.extend({ id, version });
export const createChemistry = chemistryFields;
export const chemistryList = z.object({ items: z.array(chemistry) });

export type Chemistry = z.infer<typeof chemistry>;
export type CreateChemistry = z.infer<typeof createChemistry>;
