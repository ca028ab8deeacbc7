import type { Store } from '../../server/store/store.ts';
import { runSql } from '../support/sql.ts';

/** A chemistry, a cell type of 2.2 Ah and a lot of that name; voltages from 0 to 5 V are plausible. */
export async function makeLot(store: Store, name: string): Promise<number> {
  const chemistry = (
    await runSql(
      store,
      `INSERT INTO Chemistry (name, nominalVoltageV, chargeVoltageLimitV, dischargeCutoffV, plausibleVoltageMinV,
       plausibleVoltageMaxV, usualChargeRateC, chargeTemperatureMinC, chargeTemperatureMaxC, basis)
     VALUES (?, 3.7, 4.2, 2.5, 0, 5, 1, 0, 45, 'test')`,
      `chemistry of ${name}`,
    )
  ).id;
  const cellType = (
    await runSql(
      store,
      `INSERT INTO CellType (name, chemistryId, ratedCapacityAh, createdAt) VALUES (?, ?, 2.2, '2026-01-01T00:00:00.000Z')`,
      `type of ${name}`,
      chemistry,
    )
  ).id;
  return (
    await runSql(
      store,
      `INSERT INTO Lot (name, cellTypeId, createdAt) VALUES (?, ?, '2026-01-01T00:00:00.000Z')`,
      name,
      cellType,
    )
  ).id;
}
