-- CreateTable
CREATE TABLE "LiveStackLog" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "stackId" INTEGER NOT NULL,
    "columnsJson" TEXT NOT NULL,
    "optionsJson" TEXT NOT NULL,
    "rowCount" INTEGER NOT NULL DEFAULT 0,
    "lastTimeS" REAL,
    "createdAt" TEXT NOT NULL,
    "createdBy" TEXT NOT NULL,
    "closedAt" TEXT,
    "stackLogId" INTEGER,
    CONSTRAINT "LiveStackLog_stackId_fkey" FOREIGN KEY ("stackId") REFERENCES "Stack" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "LiveStackLogBatch" (
    "liveStackLogId" INTEGER NOT NULL,
    "firstRow" INTEGER NOT NULL,
    "key" TEXT NOT NULL,
    "rows" TEXT NOT NULL,

    PRIMARY KEY ("liveStackLogId", "firstRow"),
    CONSTRAINT "LiveStackLogBatch_liveStackLogId_fkey" FOREIGN KEY ("liveStackLogId") REFERENCES "LiveStackLog" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateIndex
CREATE INDEX "LiveStackLog_stackId_idx" ON "LiveStackLog"("stackId");

-- CreateIndex
CREATE UNIQUE INDEX "LiveStackLogBatch_liveStackLogId_key_key" ON "LiveStackLogBatch"("liveStackLogId", "key");
