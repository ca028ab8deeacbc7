-- AlterTable
ALTER TABLE "Fit" ADD COLUMN     "stackId" BIGINT;

-- AlterTable
ALTER TABLE "Record" ADD COLUMN     "stackLogId" BIGINT;

-- CreateTable
CREATE TABLE "StackLog" (
    "id" BIGSERIAL NOT NULL,
    "stackId" BIGINT NOT NULL,
    "state" TEXT COLLATE "C" NOT NULL DEFAULT 'sealed',
    "label" TEXT COLLATE "C" NOT NULL DEFAULT '',
    "startedAt" TEXT COLLATE "C",
    "cycle" DOUBLE PRECISION,
    "efc" DOUBLE PRECISION,
    "ambientTemperatureC" DOUBLE PRECISION NOT NULL,
    "columnsJson" TEXT COLLATE "C" NOT NULL,
    "warningsJson" TEXT COLLATE "C" NOT NULL DEFAULT '[]',
    "sourceFileId" BIGINT NOT NULL,
    "sourceRowFirst" BIGINT NOT NULL,
    "sourceRowLast" BIGINT NOT NULL,
    "createdAt" TEXT COLLATE "C" NOT NULL,
    "version" BIGINT NOT NULL DEFAULT 1,

    CONSTRAINT "StackLog_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "StackLogCell" (
    "stackLogId" BIGINT NOT NULL,
    "position" BIGINT NOT NULL,
    "cellId" BIGINT NOT NULL,

    CONSTRAINT "StackLogCell_pkey" PRIMARY KEY ("stackLogId","position")
);

-- CreateTable
CREATE TABLE "StackLogFit" (
    "fitId" BIGINT NOT NULL,
    "stackLogId" BIGINT NOT NULL,

    CONSTRAINT "StackLogFit_pkey" PRIMARY KEY ("fitId","stackLogId")
);

-- CreateTable
CREATE TABLE "SupplyPart" (
    "id" BIGSERIAL NOT NULL,
    "kind" TEXT COLLATE "C" NOT NULL,
    "name" TEXT COLLATE "C" NOT NULL,
    "revision" BIGINT NOT NULL DEFAULT 1,
    "note" TEXT COLLATE "C" NOT NULL DEFAULT '',
    "descriptionJson" TEXT COLLATE "C" NOT NULL,
    "measuredJson" TEXT COLLATE "C" NOT NULL DEFAULT '{}',
    "fitId" BIGINT,
    "createdAt" TEXT COLLATE "C" NOT NULL,
    "createdBy" TEXT COLLATE "C" NOT NULL,
    "supersededAt" TEXT COLLATE "C",

    CONSTRAINT "SupplyPart_pkey" PRIMARY KEY ("id")
);

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

-- CreateIndex
CREATE INDEX "Fit_stackId_kind_supersededAt_idx" ON "Fit"("stackId", "kind", "supersededAt");

-- CreateIndex
CREATE UNIQUE INDEX "Record_stackLogId_key" ON "Record"("stackLogId");

-- AddForeignKey
ALTER TABLE "StackLog" ADD CONSTRAINT "StackLog_stackId_fkey" FOREIGN KEY ("stackId") REFERENCES "Stack"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "StackLog" ADD CONSTRAINT "StackLog_sourceFileId_fkey" FOREIGN KEY ("sourceFileId") REFERENCES "SourceFile"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "StackLogCell" ADD CONSTRAINT "StackLogCell_stackLogId_fkey" FOREIGN KEY ("stackLogId") REFERENCES "StackLog"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "StackLogCell" ADD CONSTRAINT "StackLogCell_cellId_fkey" FOREIGN KEY ("cellId") REFERENCES "Cell"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "StackLogFit" ADD CONSTRAINT "StackLogFit_fitId_fkey" FOREIGN KEY ("fitId") REFERENCES "Fit"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "StackLogFit" ADD CONSTRAINT "StackLogFit_stackLogId_fkey" FOREIGN KEY ("stackLogId") REFERENCES "StackLog"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "SupplyPart" ADD CONSTRAINT "SupplyPart_fitId_fkey" FOREIGN KEY ("fitId") REFERENCES "Fit"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Record" ADD CONSTRAINT "Record_stackLogId_fkey" FOREIGN KEY ("stackLogId") REFERENCES "StackLog"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Fit" ADD CONSTRAINT "Fit_stackId_fkey" FOREIGN KEY ("stackId") REFERENCES "Stack"("id") ON DELETE CASCADE ON UPDATE CASCADE;
