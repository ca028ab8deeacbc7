-- DropIndex
DROP INDEX "PresentValue_columnId_cellId_rate_key";

-- AlterTable
ALTER TABLE "IncomingFile" ADD COLUMN     "shown" BOOLEAN NOT NULL DEFAULT false;

-- CreateTable
CREATE TABLE "IncomingChange" (
    "sourceFileId" BIGINT NOT NULL,
    "cellId" BIGINT NOT NULL,

    CONSTRAINT "IncomingChange_pkey" PRIMARY KEY ("sourceFileId","cellId")
);

-- CreateIndex
CREATE UNIQUE INDEX "PresentValue_columnId_cellId_rate_measurementId_key" ON "PresentValue"("columnId", "cellId", "rate", "measurementId");
