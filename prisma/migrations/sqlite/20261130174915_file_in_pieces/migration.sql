-- CreateTable
CREATE TABLE "IncomingFile" (
    "sourceFileId" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "lotId" INTEGER NOT NULL,
    "firstCellId" INTEGER NOT NULL,
    "lastCellId" INTEGER NOT NULL,
    "firstMeasurementId" INTEGER NOT NULL,
    "lastMeasurementId" INTEGER NOT NULL,
    "storedBy" TEXT NOT NULL,
    "batch" TEXT NOT NULL,
    "touchedAt" TEXT NOT NULL
);
