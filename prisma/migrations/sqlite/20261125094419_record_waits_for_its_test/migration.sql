-- RedefineTables
PRAGMA defer_foreign_keys=ON;
PRAGMA foreign_keys=OFF;
CREATE TABLE "new_Record" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "testId" INTEGER,
    "state" TEXT NOT NULL DEFAULT 'staged',
    "rowCount" INTEGER NOT NULL DEFAULT 0,
    "durationS" REAL NOT NULL DEFAULT 0,
    "columnsJson" TEXT NOT NULL,
    "format" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TEXT NOT NULL,
    CONSTRAINT "Record_testId_fkey" FOREIGN KEY ("testId") REFERENCES "Test" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);
INSERT INTO "new_Record" ("columnsJson", "createdAt", "durationS", "format", "id", "rowCount", "state", "testId") SELECT "columnsJson", "createdAt", "durationS", "format", "id", "rowCount", "state", "testId" FROM "Record";
DROP TABLE "Record";
ALTER TABLE "new_Record" RENAME TO "Record";
CREATE UNIQUE INDEX "Record_testId_key" ON "Record"("testId");
CREATE INDEX "Record_state_idx" ON "Record"("state");
PRAGMA foreign_keys=ON;
PRAGMA defer_foreign_keys=OFF;
