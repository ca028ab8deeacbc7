-- RedefineTables
PRAGMA defer_foreign_keys=ON;
PRAGMA foreign_keys=OFF;
CREATE TABLE "new_CellType" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "name" TEXT NOT NULL,
    "maker" TEXT NOT NULL DEFAULT '',
    "chemistryId" INTEGER NOT NULL,
    "ratedCapacityAh" REAL NOT NULL,
    "chargeVoltageLimitV" REAL,
    "dischargeCutoffV" REAL,
    "maxChargeCurrentA" REAL,
    "maxDischargeCurrentA" REAL,
    "taperCurrentA" REAL,
    "chargeTemperatureMinC" REAL,
    "chargeTemperatureMaxC" REAL,
    "chargeZonesJson" TEXT NOT NULL DEFAULT '[]',
    "massG" REAL,
    "heatCapacityJPerK" REAL,
    "heatTransferWPerK" REAL,
    "capacityMinAh" REAL,
    "resistanceMaxOhm" REAL,
    "resistanceDurationS" REAL,
    "referenceTemperatureC" REAL NOT NULL DEFAULT 25,
    "referenceSoc" REAL NOT NULL DEFAULT 0.5,
    "datasheet" TEXT NOT NULL DEFAULT '',
    "createdAt" TEXT NOT NULL,
    "version" INTEGER NOT NULL DEFAULT 1,
    CONSTRAINT "CellType_chemistryId_fkey" FOREIGN KEY ("chemistryId") REFERENCES "Chemistry" ("id") ON DELETE RESTRICT ON UPDATE CASCADE
);
INSERT INTO "new_CellType" ("capacityMinAh", "chargeTemperatureMaxC", "chargeTemperatureMinC", "chargeVoltageLimitV", "chemistryId", "createdAt", "datasheet", "dischargeCutoffV", "heatCapacityJPerK", "heatTransferWPerK", "id", "maker", "massG", "maxChargeCurrentA", "maxDischargeCurrentA", "name", "ratedCapacityAh", "referenceSoc", "referenceTemperatureC", "resistanceDurationS", "resistanceMaxOhm", "taperCurrentA", "version") SELECT "capacityMinAh", "chargeTemperatureMaxC", "chargeTemperatureMinC", "chargeVoltageLimitV", "chemistryId", "createdAt", "datasheet", "dischargeCutoffV", "heatCapacityJPerK", "heatTransferWPerK", "id", "maker", "massG", "maxChargeCurrentA", "maxDischargeCurrentA", "name", "ratedCapacityAh", "referenceSoc", "referenceTemperatureC", "resistanceDurationS", "resistanceMaxOhm", "taperCurrentA", "version" FROM "CellType";
DROP TABLE "CellType";
ALTER TABLE "new_CellType" RENAME TO "CellType";
CREATE UNIQUE INDEX "CellType_name_key" ON "CellType"("name");
PRAGMA foreign_keys=ON;
PRAGMA defer_foreign_keys=OFF;
