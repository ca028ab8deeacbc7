-- CreateTable
CREATE TABLE "LiveStackLog" (
    "id" BIGSERIAL NOT NULL,
    "stackId" BIGINT NOT NULL,
    "columnsJson" TEXT COLLATE "C" NOT NULL,
    "optionsJson" TEXT COLLATE "C" NOT NULL,
    "rowCount" BIGINT NOT NULL DEFAULT 0,
    "lastTimeS" DOUBLE PRECISION,
    "createdAt" TEXT COLLATE "C" NOT NULL,
    "createdBy" TEXT COLLATE "C" NOT NULL,
    "closedAt" TEXT COLLATE "C",
    "stackLogId" BIGINT,

    CONSTRAINT "LiveStackLog_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "LiveStackLogBatch" (
    "liveStackLogId" BIGINT NOT NULL,
    "firstRow" BIGINT NOT NULL,
    "key" TEXT COLLATE "C" NOT NULL,
    "rows" TEXT COLLATE "C" NOT NULL,

    CONSTRAINT "LiveStackLogBatch_pkey" PRIMARY KEY ("liveStackLogId","firstRow")
);

-- CreateIndex
CREATE INDEX "LiveStackLog_stackId_idx" ON "LiveStackLog"("stackId");

-- CreateIndex
CREATE UNIQUE INDEX "LiveStackLogBatch_liveStackLogId_key_key" ON "LiveStackLogBatch"("liveStackLogId", "key");

-- AddForeignKey
ALTER TABLE "LiveStackLog" ADD CONSTRAINT "LiveStackLog_stackId_fkey" FOREIGN KEY ("stackId") REFERENCES "Stack"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "LiveStackLogBatch" ADD CONSTRAINT "LiveStackLogBatch_liveStackLogId_fkey" FOREIGN KEY ("liveStackLogId") REFERENCES "LiveStackLog"("id") ON DELETE CASCADE ON UPDATE CASCADE;
