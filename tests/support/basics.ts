import type { Context } from '../../server/context.ts';
import type { CellType } from '../../server/contract/cellTypes.ts';
import type { Lot } from '../../server/contract/lots.ts';
import { createCellType } from '../../server/use-cases/register/createCellType.ts';
import { createChemistry } from '../../server/use-cases/register/createChemistry.ts';
import { createLot } from '../../server/use-cases/register/createLot.ts';

/** A chemistry, a cell type of 2 Ah and a lot, as most tests need them; each name can be given. */
export async function makeLot(
  context: Context,
  given: { lot?: string; cellType?: Partial<Parameters<typeof createCellType>[1]> } = {},
): Promise<{ lot: Lot; cellType: CellType }> {
  const suffix = given.lot ?? 'A';
  const chemistry = await createChemistry(context, {
    name: `test chemistry ${suffix}`,
    description: '',
    nominalVoltageV: 3.65,
    chargeVoltageLimitV: 4.2,
    dischargeCutoffV: 2.5,
    plausibleVoltageMinV: 0.5,
    plausibleVoltageMaxV: 5,
    usualChargeRateC: 1,
    chargeTemperatureMinC: 0,
    chargeTemperatureMaxC: 45,
    basis: 'invented for a test',
  });
  const cellType = await createCellType(context, {
    name: `test type ${suffix}`,
    maker: '',
    chemistryId: chemistry.id,
    ratedCapacityAh: 2,
    chargeVoltageLimitV: null,
    dischargeCutoffV: null,
    maxChargeCurrentA: null,
    maxDischargeCurrentA: null,
    taperCurrentA: null,
    chargeTemperatureMinC: null,
    chargeTemperatureMaxC: null,
    chargeZones: [],
    massG: null,
    heatCapacityJPerK: null,
    heatTransferWPerK: null,
    capacityMinAh: null,
    resistanceMaxOhm: null,
    resistanceDurationS: null,
    referenceTemperatureC: 25,
    referenceSoc: 0.5,
    datasheet: '',
    ...given.cellType,
  });
  const lot = await createLot(context, {
    name: given.lot ?? 'lot A',
    cellTypeId: cellType.id,
    receivedOn: null,
    note: '',
  });
  return { lot, cellType };
}
