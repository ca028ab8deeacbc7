import { rmSync } from 'node:fs';
import { createDatabaseFile, sqliteStore } from '../../../server/store/sqlite.ts';
import { applyMigrations } from '../../../server/store/sqliteMigrations.ts';
import type { Store } from '../../../server/store/store.ts';
import { runSql } from '../../support/sql.ts';

/** Makes a fresh database with one chemistry, cell type and lot ("bench"), so that an import has where to go. */
export async function makeImportDatabase(file: string): Promise<void> {
  for (const end of ['', '-wal', '-shm']) rmSync(`${file}${end}`, { force: true });
  createDatabaseFile(file);
  applyMigrations(file);
  const store = sqliteStore(file);
  await fillImportDatabase(store);
  await store.close();
}

/** Gives an empty database of either kind that chemistry, cell type and lot. */
export async function fillImportDatabase(store: Store): Promise<void> {
  await runSql(
    store,
    `INSERT INTO Chemistry (name, nominalVoltageV, chargeVoltageLimitV, dischargeCutoffV, plausibleVoltageMinV,
       plausibleVoltageMaxV, usualChargeRateC, chargeTemperatureMinC, chargeTemperatureMaxC, basis)
     VALUES ('bench', 3.7, 4.2, 2.5, 0, 5, 1, 0, 45, 'bench')`,
  );
  await runSql(
    store,
    `INSERT INTO CellType (name, chemistryId, ratedCapacityAh, createdAt) VALUES ('bench', 1, 2.2, '2026-01-01')`,
  );
  await runSql(store, `INSERT INTO Lot (name, cellTypeId, createdAt) VALUES ('bench', 1, '2026-01-01')`);
}
