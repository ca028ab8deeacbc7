-- CreateTable
CREATE TABLE "IncomingFile" (
    "sourceFileId" BIGINT NOT NULL,
    "lotId" BIGINT NOT NULL,
    "firstCellId" BIGINT NOT NULL,
    "lastCellId" BIGINT NOT NULL,
    "firstMeasurementId" BIGINT NOT NULL,
    "lastMeasurementId" BIGINT NOT NULL,
    "storedBy" TEXT COLLATE "C" NOT NULL,
    "batch" TEXT COLLATE "C" NOT NULL,
    "touchedAt" TEXT COLLATE "C" NOT NULL,

    CONSTRAINT "IncomingFile_pkey" PRIMARY KEY ("sourceFileId")
);
