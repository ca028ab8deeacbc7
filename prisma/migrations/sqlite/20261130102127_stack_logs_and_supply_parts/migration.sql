-- CreateTable
CREATE TABLE "StackLog" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "stackId" INTEGER NOT NULL,
    "state" TEXT NOT NULL DEFAULT 'sealed',
    "label" TEXT NOT NULL DEFAULT '',
    "startedAt" TEXT,
    "cycle" REAL,
    "efc" REAL,
    "ambientTemperatureC" REAL NOT NULL,
    "columnsJson" TEXT NOT NULL,
    "warningsJson" TEXT NOT NULL DEFAULT '[]',
    "sourceFileId" INTEGER NOT NULL,
    "sourceRowFirst" INTEGER NOT NULL,
    "sourceRowLast" INTEGER NOT NULL,
    "createdAt" TEXT NOT NULL,
    "version" INTEGER NOT NULL DEFAULT 1,
    CONSTRAINT "StackLog_stackId_fkey" FOREIGN KEY ("stackId") REFERENCES "Stack" ("id") ON DELETE RESTRICT ON UPDATE CASCADE,
    CONSTRAINT "StackLog_sourceFileId_fkey" FOREIGN KEY ("sourceFileId") REFERENCES "SourceFile" ("id") ON DELETE RESTRICT ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "StackLogCell" (
    "stackLogId" INTEGER NOT NULL,
    "position" INTEGER NOT NULL,
    "cellId" INTEGER NOT NULL,

    PRIMARY KEY ("stackLogId", "position"),
    CONSTRAINT "StackLogCell_stackLogId_fkey" FOREIGN KEY ("stackLogId") REFERENCES "StackLog" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "StackLogCell_cellId_fkey" FOREIGN KEY ("cellId") REFERENCES "Cell" ("id") ON DELETE RESTRICT ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "StackLogFit" (
    "fitId" INTEGER NOT NULL,
    "stackLogId" INTEGER NOT NULL,

    PRIMARY KEY ("fitId", "stackLogId"),
    CONSTRAINT "StackLogFit_fitId_fkey" FOREIGN KEY ("fitId") REFERENCES "Fit" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "StackLogFit_stackLogId_fkey" FOREIGN KEY ("stackLogId") REFERENCES "StackLog" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "SupplyPart" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "kind" TEXT NOT NULL,
    "name" TEXT NOT NULL,
    "revision" INTEGER NOT NULL DEFAULT 1,
    "note" TEXT NOT NULL DEFAULT '',
    "descriptionJson" TEXT NOT NULL,
    "measuredJson" TEXT NOT NULL DEFAULT '{}',
    "fitId" INTEGER,
    "createdAt" TEXT NOT NULL,
    "createdBy" TEXT NOT NULL,
    "supersededAt" TEXT,
    CONSTRAINT "SupplyPart_fitId_fkey" FOREIGN KEY ("fitId") REFERENCES "Fit" ("id") ON DELETE SET NULL ON UPDATE CASCADE
);

-- RedefineTables
PRAGMA defer_foreign_keys=ON;
PRAGMA foreign_keys=OFF;
CREATE TABLE "new_Fit" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "kind" TEXT NOT NULL,
    "quantity" TEXT,
    "testId" INTEGER,
    "cellId" INTEGER,
    "lotId" INTEGER,
    "cellTypeId" INTEGER,
    "stackId" INTEGER,
    "algorithm" TEXT NOT NULL,
    "algorithmVersion" TEXT NOT NULL,
    "settingsJson" TEXT NOT NULL,
    "inputsJson" TEXT NOT NULL DEFAULT '{}',
    "resultJson" TEXT NOT NULL,
    "createdAt" TEXT NOT NULL,
    "createdBy" TEXT NOT NULL,
    "supersededAt" TEXT,
    "supersededById" INTEGER,
    CONSTRAINT "Fit_testId_fkey" FOREIGN KEY ("testId") REFERENCES "Test" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "Fit_cellId_fkey" FOREIGN KEY ("cellId") REFERENCES "Cell" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "Fit_lotId_fkey" FOREIGN KEY ("lotId") REFERENCES "Lot" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "Fit_cellTypeId_fkey" FOREIGN KEY ("cellTypeId") REFERENCES "CellType" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "Fit_stackId_fkey" FOREIGN KEY ("stackId") REFERENCES "Stack" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "Fit_supersededById_fkey" FOREIGN KEY ("supersededById") REFERENCES "Fit" ("id") ON DELETE SET NULL ON UPDATE CASCADE
);
INSERT INTO "new_Fit" ("algorithm", "algorithmVersion", "cellId", "cellTypeId", "createdAt", "createdBy", "id", "inputsJson", "kind", "lotId", "quantity", "resultJson", "settingsJson", "supersededAt", "supersededById", "testId") SELECT "algorithm", "algorithmVersion", "cellId", "cellTypeId", "createdAt", "createdBy", "id", "inputsJson", "kind", "lotId", "quantity", "resultJson", "settingsJson", "supersededAt", "supersededById", "testId" FROM "Fit";
DROP TABLE "Fit";
ALTER TABLE "new_Fit" RENAME TO "Fit";
CREATE INDEX "Fit_stackId_kind_supersededAt_idx" ON "Fit"("stackId", "kind", "supersededAt");
CREATE INDEX "Fit_testId_kind_supersededAt_idx" ON "Fit"("testId", "kind", "supersededAt");
CREATE INDEX "Fit_cellId_kind_supersededAt_idx" ON "Fit"("cellId", "kind", "supersededAt");
CREATE INDEX "Fit_lotId_kind_supersededAt_idx" ON "Fit"("lotId", "kind", "supersededAt");
CREATE INDEX "Fit_cellTypeId_kind_supersededAt_idx" ON "Fit"("cellTypeId", "kind", "supersededAt");
CREATE INDEX "Fit_supersededById_idx" ON "Fit"("supersededById");
CREATE TABLE "new_Record" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "testId" INTEGER,
    "stackLogId" INTEGER,
    "state" TEXT NOT NULL DEFAULT 'staged',
    "rowCount" INTEGER NOT NULL DEFAULT 0,
    "durationS" REAL NOT NULL DEFAULT 0,
    "columnsJson" TEXT NOT NULL,
    "format" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TEXT NOT NULL,
    CONSTRAINT "Record_testId_fkey" FOREIGN KEY ("testId") REFERENCES "Test" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "Record_stackLogId_fkey" FOREIGN KEY ("stackLogId") REFERENCES "StackLog" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);
INSERT INTO "new_Record" ("columnsJson", "createdAt", "durationS", "format", "id", "rowCount", "state", "testId") SELECT "columnsJson", "createdAt", "durationS", "format", "id", "rowCount", "state", "testId" FROM "Record";
DROP TABLE "Record";
ALTER TABLE "new_Record" RENAME TO "Record";
CREATE UNIQUE INDEX "Record_testId_key" ON "Record"("testId");
CREATE UNIQUE INDEX "Record_stackLogId_key" ON "Record"("stackLogId");
CREATE INDEX "Record_state_idx" ON "Record"("state");
PRAGMA foreign_keys=ON;
PRAGMA defer_foreign_keys=OFF;

-- CreateIndex
CREATE INDEX "StackLog_stackId_state_cycle_idx" ON "StackLog"("stackId", "state", "cycle");

-- CreateIndex
CREATE INDEX "StackLog_sourceFileId_idx" ON "StackLog"("sourceFileId");

-- CreateIndex
CREATE INDEX "StackLogCell_cellId_idx" ON "StackLogCell"("cellId");

-- CreateIndex
CREATE INDEX "StackLogFit_stackLogId_idx" ON "StackLogFit"("stackLogId");

-- CreateIndex
CREATE INDEX "SupplyPart_kind_supersededAt_name_idx" ON "SupplyPart"("kind", "supersededAt", "name");

-- CreateIndex
CREATE INDEX "SupplyPart_fitId_idx" ON "SupplyPart"("fitId");

-- CreateIndex
CREATE UNIQUE INDEX "SupplyPart_kind_name_revision_key" ON "SupplyPart"("kind", "name", "revision");
