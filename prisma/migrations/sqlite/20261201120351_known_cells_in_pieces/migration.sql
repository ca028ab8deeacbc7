-- DropIndex
DROP INDEX "PresentValue_columnId_cellId_rate_key";

-- CreateTable
CREATE TABLE "IncomingChange" (
    "sourceFileId" INTEGER NOT NULL,
    "cellId" INTEGER NOT NULL,

    PRIMARY KEY ("sourceFileId", "cellId")
);

-- AlterTable; made again, the table would lose its triggers.
ALTER TABLE "IncomingFile" ADD COLUMN "shown" BOOLEAN NOT NULL DEFAULT false;

-- CreateIndex
CREATE UNIQUE INDEX "PresentValue_columnId_cellId_rate_measurementId_key" ON "PresentValue"("columnId", "cellId", "rate", "measurementId");
