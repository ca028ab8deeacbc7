-- CreateTable
CREATE TABLE "Chemistry" (
    "id" BIGSERIAL NOT NULL,
    "name" TEXT COLLATE "C" NOT NULL,
    "description" TEXT COLLATE "C" NOT NULL DEFAULT '',
    "nominalVoltageV" DOUBLE PRECISION NOT NULL,
    "chargeVoltageLimitV" DOUBLE PRECISION NOT NULL,
    "dischargeCutoffV" DOUBLE PRECISION NOT NULL,
    "plausibleVoltageMinV" DOUBLE PRECISION NOT NULL,
    "plausibleVoltageMaxV" DOUBLE PRECISION NOT NULL,
    "usualChargeRateC" DOUBLE PRECISION NOT NULL,
    "chargeTemperatureMinC" DOUBLE PRECISION NOT NULL,
    "chargeTemperatureMaxC" DOUBLE PRECISION NOT NULL,
    "basis" TEXT COLLATE "C" NOT NULL,
    "version" BIGINT NOT NULL DEFAULT 1,

    CONSTRAINT "Chemistry_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "CellType" (
    "id" BIGSERIAL NOT NULL,
    "name" TEXT COLLATE "C" NOT NULL,
    "maker" TEXT COLLATE "C" NOT NULL DEFAULT '',
    "chemistryId" BIGINT NOT NULL,
    "ratedCapacityAh" DOUBLE PRECISION NOT NULL,
    "chargeVoltageLimitV" DOUBLE PRECISION,
    "dischargeCutoffV" DOUBLE PRECISION,
    "maxChargeCurrentA" DOUBLE PRECISION,
    "maxDischargeCurrentA" DOUBLE PRECISION,
    "taperCurrentA" DOUBLE PRECISION,
    "chargeTemperatureMinC" DOUBLE PRECISION,
    "chargeTemperatureMaxC" DOUBLE PRECISION,
    "chargeZonesJson" TEXT COLLATE "C" NOT NULL DEFAULT '[]',
    "massG" DOUBLE PRECISION,
    "heatCapacityJPerK" DOUBLE PRECISION,
    "heatTransferWPerK" DOUBLE PRECISION,
    "capacityMinAh" DOUBLE PRECISION,
    "resistanceMaxOhm" DOUBLE PRECISION,
    "resistanceDurationS" DOUBLE PRECISION,
    "referenceTemperatureC" DOUBLE PRECISION NOT NULL DEFAULT 25,
    "referenceSoc" DOUBLE PRECISION NOT NULL DEFAULT 0.5,
    "datasheet" TEXT COLLATE "C" NOT NULL DEFAULT '',
    "createdAt" TEXT COLLATE "C" NOT NULL,
    "version" BIGINT NOT NULL DEFAULT 1,

    CONSTRAINT "CellType_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Lot" (
    "id" BIGSERIAL NOT NULL,
    "name" TEXT COLLATE "C" NOT NULL,
    "cellTypeId" BIGINT NOT NULL,
    "receivedOn" TEXT COLLATE "C",
    "note" TEXT COLLATE "C" NOT NULL DEFAULT '',
    "createdAt" TEXT COLLATE "C" NOT NULL,
    "version" BIGINT NOT NULL DEFAULT 1,

    CONSTRAINT "Lot_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Cell" (
    "id" BIGSERIAL NOT NULL,
    "lotId" BIGINT NOT NULL,
    "serial" TEXT COLLATE "C" NOT NULL,
    "state" TEXT COLLATE "C" NOT NULL DEFAULT 'available',
    "stateReason" TEXT COLLATE "C",
    "note" TEXT COLLATE "C" NOT NULL DEFAULT '',
    "createdAt" TEXT COLLATE "C" NOT NULL,
    "sourceFileId" BIGINT,
    "version" BIGINT NOT NULL DEFAULT 1,

    CONSTRAINT "Cell_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "SourceFile" (
    "id" BIGSERIAL NOT NULL,
    "name" TEXT COLLATE "C" NOT NULL,
    "sha256" TEXT COLLATE "C" NOT NULL,
    "takenSha256" TEXT COLLATE "C",
    "bytes" DOUBLE PRECISION NOT NULL,
    "kind" TEXT COLLATE "C" NOT NULL,
    "state" TEXT COLLATE "C" NOT NULL,
    "lotId" BIGINT,
    "rowCount" BIGINT NOT NULL DEFAULT 0,
    "importedAt" TEXT COLLATE "C" NOT NULL,
    "importedBy" TEXT COLLATE "C" NOT NULL,
    "mappingJson" TEXT COLLATE "C" NOT NULL DEFAULT '{}',
    "reportJson" TEXT COLLATE "C" NOT NULL DEFAULT '{}',
    "batch" TEXT COLLATE "C",

    CONSTRAINT "SourceFile_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Test" (
    "id" BIGSERIAL NOT NULL,
    "cellId" BIGINT NOT NULL,
    "kind" TEXT COLLATE "C" NOT NULL,
    "state" TEXT COLLATE "C" NOT NULL DEFAULT 'staged',
    "label" TEXT COLLATE "C" NOT NULL DEFAULT '',
    "startedAt" TEXT COLLATE "C",
    "temperatureC" DOUBLE PRECISION,
    "cycle" DOUBLE PRECISION,
    "efc" DOUBLE PRECISION,
    "startSoc" DOUBLE PRECISION,
    "instrument" TEXT COLLATE "C" NOT NULL DEFAULT '',
    "fixtureOhm" DOUBLE PRECISION,
    "fixtureUncertaintyOhm" DOUBLE PRECISION,
    "sourceFileId" BIGINT,
    "sourceRowFirst" BIGINT,
    "sourceRowLast" BIGINT,
    "settingsJson" TEXT COLLATE "C" NOT NULL DEFAULT '{}',
    "note" TEXT COLLATE "C" NOT NULL DEFAULT '',
    "createdAt" TEXT COLLATE "C" NOT NULL,
    "evaluatedAt" TEXT COLLATE "C",
    "evaluationError" TEXT COLLATE "C",
    "version" BIGINT NOT NULL DEFAULT 1,

    CONSTRAINT "Test_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Record" (
    "id" BIGSERIAL NOT NULL,
    "testId" BIGINT,
    "state" TEXT COLLATE "C" NOT NULL DEFAULT 'staged',
    "rowCount" BIGINT NOT NULL DEFAULT 0,
    "durationS" DOUBLE PRECISION NOT NULL DEFAULT 0,
    "columnsJson" TEXT COLLATE "C" NOT NULL,
    "format" BIGINT NOT NULL DEFAULT 1,
    "createdAt" TEXT COLLATE "C" NOT NULL,

    CONSTRAINT "Record_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "RecordChunk" (
    "recordId" BIGINT NOT NULL,
    "column" BIGINT NOT NULL,
    "firstRow" BIGINT NOT NULL,
    "rowCount" BIGINT NOT NULL,
    "min" DOUBLE PRECISION NOT NULL,
    "max" DOUBLE PRECISION NOT NULL,
    "data" BYTEA NOT NULL,

    CONSTRAINT "RecordChunk_pkey" PRIMARY KEY ("recordId","column","firstRow")
);

-- CreateTable
CREATE TABLE "LiveBatch" (
    "testId" BIGINT NOT NULL,
    "key" TEXT COLLATE "C" NOT NULL,
    "firstRow" BIGINT NOT NULL,
    "rowCount" BIGINT NOT NULL,
    "receivedAt" TEXT COLLATE "C" NOT NULL,

    CONSTRAINT "LiveBatch_pkey" PRIMARY KEY ("testId","key")
);

-- CreateTable
CREATE TABLE "Sweep" (
    "id" BIGSERIAL NOT NULL,
    "testId" BIGINT NOT NULL,
    "position" BIGINT NOT NULL,
    "label" TEXT COLLATE "C" NOT NULL,
    "soc" DOUBLE PRECISION,
    "chargeAh" DOUBLE PRECISION,
    "voltageV" DOUBLE PRECISION,
    "temperatureC" DOUBLE PRECISION,
    "sourceRowFirst" BIGINT NOT NULL,
    "sourceRowLast" BIGINT NOT NULL,

    CONSTRAINT "Sweep_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "SweepPoint" (
    "sweepId" BIGINT NOT NULL,
    "position" BIGINT NOT NULL,
    "frequencyHz" DOUBLE PRECISION NOT NULL,
    "realOhm" DOUBLE PRECISION NOT NULL,
    "imaginaryOhm" DOUBLE PRECISION NOT NULL,
    "sourceRow" BIGINT NOT NULL,

    CONSTRAINT "SweepPoint_pkey" PRIMARY KEY ("sweepId","position")
);

-- CreateTable
CREATE TABLE "Step" (
    "id" BIGSERIAL NOT NULL,
    "testId" BIGINT NOT NULL,
    "fitId" BIGINT,
    "origin" TEXT COLLATE "C" NOT NULL,
    "position" BIGINT NOT NULL,
    "mode" TEXT COLLATE "C" NOT NULL,
    "startTimeS" DOUBLE PRECISION NOT NULL,
    "durationS" DOUBLE PRECISION NOT NULL,
    "startRow" BIGINT,
    "endRow" BIGINT,
    "meanCurrentA" DOUBLE PRECISION,
    "startVoltageV" DOUBLE PRECISION,
    "endVoltageV" DOUBLE PRECISION,
    "chargeAh" DOUBLE PRECISION,
    "cycle" DOUBLE PRECISION,
    "detailJson" TEXT COLLATE "C" NOT NULL DEFAULT '{}',

    CONSTRAINT "Step_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Fit" (
    "id" BIGSERIAL NOT NULL,
    "kind" TEXT COLLATE "C" NOT NULL,
    "quantity" TEXT COLLATE "C",
    "testId" BIGINT,
    "cellId" BIGINT,
    "lotId" BIGINT,
    "cellTypeId" BIGINT,
    "algorithm" TEXT COLLATE "C" NOT NULL,
    "algorithmVersion" TEXT COLLATE "C" NOT NULL,
    "settingsJson" TEXT COLLATE "C" NOT NULL,
    "inputsJson" TEXT COLLATE "C" NOT NULL DEFAULT '{}',
    "resultJson" TEXT COLLATE "C" NOT NULL,
    "createdAt" TEXT COLLATE "C" NOT NULL,
    "createdBy" TEXT COLLATE "C" NOT NULL,
    "supersededAt" TEXT COLLATE "C",
    "supersededById" BIGINT,

    CONSTRAINT "Fit_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Measurement" (
    "id" BIGSERIAL NOT NULL,
    "cellId" BIGINT NOT NULL,
    "testId" BIGINT,
    "fitId" BIGINT,
    "sourceFileId" BIGINT,
    "sourceRow" BIGINT,
    "quantity" TEXT COLLATE "C" NOT NULL,
    "unit" TEXT COLLATE "C" NOT NULL,
    "value" DOUBLE PRECISION,
    "standardUncertainty" DOUBLE PRECISION,
    "reason" TEXT COLLATE "C",
    "soc" DOUBLE PRECISION,
    "temperatureC" DOUBLE PRECISION,
    "direction" TEXT COLLATE "C",
    "durationS" DOUBLE PRECISION,
    "currentA" DOUBLE PRECISION,
    "cycle" DOUBLE PRECISION,
    "efc" DOUBLE PRECISION,
    "method" TEXT COLLATE "C" NOT NULL,
    "excludedReason" TEXT COLLATE "C",
    "measuredAt" TEXT COLLATE "C",
    "createdAt" TEXT COLLATE "C" NOT NULL,
    "supersededAt" TEXT COLLATE "C",

    CONSTRAINT "Measurement_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Pairing" (
    "id" BIGSERIAL NOT NULL,
    "lotId" BIGINT NOT NULL,
    "criteriaJson" TEXT COLLATE "C" NOT NULL,
    "resultJson" TEXT COLLATE "C" NOT NULL,
    "algorithm" TEXT COLLATE "C" NOT NULL,
    "algorithmVersion" TEXT COLLATE "C" NOT NULL,
    "pairCount" BIGINT NOT NULL,
    "unpairedCount" BIGINT NOT NULL,
    "totalCost" DOUBLE PRECISION NOT NULL,
    "proven" BOOLEAN NOT NULL,
    "createdAt" TEXT COLLATE "C" NOT NULL,
    "createdBy" TEXT COLLATE "C" NOT NULL,

    CONSTRAINT "Pairing_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Pair" (
    "id" BIGSERIAL NOT NULL,
    "pairingId" BIGINT NOT NULL,
    "position" BIGINT NOT NULL,
    "cellAId" BIGINT NOT NULL,
    "cellBId" BIGINT NOT NULL,
    "cost" DOUBLE PRECISION NOT NULL,
    "state" TEXT COLLATE "C" NOT NULL DEFAULT 'proposed',
    "reason" TEXT COLLATE "C",
    "detailJson" TEXT COLLATE "C" NOT NULL DEFAULT '{}',
    "version" BIGINT NOT NULL DEFAULT 1,

    CONSTRAINT "Pair_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Stack" (
    "id" BIGSERIAL NOT NULL,
    "name" TEXT COLLATE "C" NOT NULL,
    "pairId" BIGINT,
    "state" TEXT COLLATE "C" NOT NULL DEFAULT 'planned',
    "note" TEXT COLLATE "C" NOT NULL DEFAULT '',
    "createdAt" TEXT COLLATE "C" NOT NULL,
    "builtAt" TEXT COLLATE "C",
    "checkUpDueAt" TEXT COLLATE "C",
    "version" BIGINT NOT NULL DEFAULT 1,

    CONSTRAINT "Stack_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "StackCell" (
    "stackId" BIGINT NOT NULL,
    "position" BIGINT NOT NULL,
    "cellId" BIGINT NOT NULL,
    "chosenJson" TEXT COLLATE "C" NOT NULL DEFAULT '{}',

    CONSTRAINT "StackCell_pkey" PRIMARY KEY ("stackId","position")
);

-- CreateTable
CREATE TABLE "ChargeStudy" (
    "id" BIGSERIAL NOT NULL,
    "name" TEXT COLLATE "C" NOT NULL,
    "cellTypeId" BIGINT,
    "cellId" BIGINT,
    "stackId" BIGINT,
    "descriptionJson" TEXT COLLATE "C" NOT NULL,
    "resultJson" TEXT COLLATE "C",
    "algorithm" TEXT COLLATE "C" NOT NULL,
    "algorithmVersion" TEXT COLLATE "C" NOT NULL,
    "inputsJson" TEXT COLLATE "C" NOT NULL DEFAULT '{}',
    "state" TEXT COLLATE "C" NOT NULL,
    "error" TEXT COLLATE "C",
    "createdAt" TEXT COLLATE "C" NOT NULL,
    "createdBy" TEXT COLLATE "C" NOT NULL,
    "version" BIGINT NOT NULL DEFAULT 1,

    CONSTRAINT "ChargeStudy_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Export" (
    "id" BIGSERIAL NOT NULL,
    "format" TEXT COLLATE "C" NOT NULL,
    "subjectKind" TEXT COLLATE "C" NOT NULL,
    "subjectId" BIGINT NOT NULL,
    "fileName" TEXT COLLATE "C" NOT NULL,
    "mediaType" TEXT COLLATE "C" NOT NULL,
    "sha256" TEXT COLLATE "C" NOT NULL,
    "bytes" BIGINT NOT NULL,
    "data" BYTEA NOT NULL,
    "createdAt" TEXT COLLATE "C" NOT NULL,
    "createdBy" TEXT COLLATE "C" NOT NULL,

    CONSTRAINT "Export_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Job" (
    "id" BIGSERIAL NOT NULL,
    "kind" TEXT COLLATE "C" NOT NULL,
    "state" TEXT COLLATE "C" NOT NULL DEFAULT 'waiting',
    "inputJson" TEXT COLLATE "C" NOT NULL,
    "resultJson" TEXT COLLATE "C",
    "error" TEXT COLLATE "C",
    "progress" DOUBLE PRECISION NOT NULL DEFAULT 0,
    "progressText" TEXT COLLATE "C" NOT NULL DEFAULT '',
    "attempts" BIGINT NOT NULL DEFAULT 0,
    "maxAttempts" BIGINT NOT NULL DEFAULT 3,
    "cancelRequested" BOOLEAN NOT NULL DEFAULT false,
    "workerId" TEXT COLLATE "C",
    "heartbeatAt" TEXT COLLATE "C",
    "notBefore" TEXT COLLATE "C",
    "createdAt" TEXT COLLATE "C" NOT NULL,
    "createdBy" TEXT COLLATE "C" NOT NULL,
    "startedAt" TEXT COLLATE "C",
    "finishedAt" TEXT COLLATE "C",

    CONSTRAINT "Job_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "ColumnMap" (
    "id" BIGSERIAL NOT NULL,
    "name" TEXT COLLATE "C" NOT NULL,
    "fingerprint" TEXT COLLATE "C" NOT NULL,
    "mapJson" TEXT COLLATE "C" NOT NULL,
    "createdAt" TEXT COLLATE "C" NOT NULL,
    "lastUsedAt" TEXT COLLATE "C",

    CONSTRAINT "ColumnMap_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "NamePattern" (
    "id" BIGSERIAL NOT NULL,
    "name" TEXT COLLATE "C" NOT NULL,
    "pattern" TEXT COLLATE "C" NOT NULL,
    "createdAt" TEXT COLLATE "C" NOT NULL,

    CONSTRAINT "NamePattern_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "Attachment" (
    "id" BIGSERIAL NOT NULL,
    "cellId" BIGINT,
    "stackId" BIGINT,
    "name" TEXT COLLATE "C" NOT NULL,
    "mediaType" TEXT COLLATE "C" NOT NULL,
    "text" TEXT COLLATE "C",
    "data" BYTEA,
    "createdAt" TEXT COLLATE "C" NOT NULL,
    "createdBy" TEXT COLLATE "C" NOT NULL,

    CONSTRAINT "Attachment_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "IdempotentAnswer" (
    "key" TEXT COLLATE "C" NOT NULL,
    "route" TEXT COLLATE "C" NOT NULL,
    "requestHash" TEXT COLLATE "C" NOT NULL,
    "status" BIGINT NOT NULL,
    "bodyJson" TEXT COLLATE "C" NOT NULL,
    "createdAt" TEXT COLLATE "C" NOT NULL,

    CONSTRAINT "IdempotentAnswer_pkey" PRIMARY KEY ("key","route")
);

-- CreateTable
CREATE TABLE "Token" (
    "id" BIGSERIAL NOT NULL,
    "name" TEXT COLLATE "C" NOT NULL,
    "hash" TEXT COLLATE "C" NOT NULL,
    "role" TEXT COLLATE "C" NOT NULL,
    "createdAt" TEXT COLLATE "C" NOT NULL,
    "lastUsedAt" TEXT COLLATE "C",
    "revokedAt" TEXT COLLATE "C",

    CONSTRAINT "Token_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "AuditEntry" (
    "id" BIGSERIAL NOT NULL,
    "at" TEXT COLLATE "C" NOT NULL,
    "actor" TEXT COLLATE "C" NOT NULL,
    "action" TEXT COLLATE "C" NOT NULL,
    "subjectKind" TEXT COLLATE "C" NOT NULL,
    "subjectId" BIGINT,
    "detailJson" TEXT COLLATE "C" NOT NULL DEFAULT '{}',

    CONSTRAINT "AuditEntry_pkey" PRIMARY KEY ("id")
);

-- CreateIndex
CREATE UNIQUE INDEX "Chemistry_name_key" ON "Chemistry"("name");

-- CreateIndex
CREATE UNIQUE INDEX "CellType_name_key" ON "CellType"("name");

-- CreateIndex
CREATE UNIQUE INDEX "Lot_name_key" ON "Lot"("name");

-- CreateIndex
CREATE INDEX "Lot_cellTypeId_idx" ON "Lot"("cellTypeId");

-- CreateIndex
CREATE INDEX "Cell_lotId_state_serial_idx" ON "Cell"("lotId", "state", "serial");

-- CreateIndex
CREATE INDEX "Cell_serial_idx" ON "Cell"("serial");

-- CreateIndex
CREATE INDEX "Cell_sourceFileId_idx" ON "Cell"("sourceFileId");

-- CreateIndex
CREATE UNIQUE INDEX "Cell_lotId_serial_key" ON "Cell"("lotId", "serial");

-- CreateIndex
CREATE UNIQUE INDEX "SourceFile_takenSha256_key" ON "SourceFile"("takenSha256");

-- CreateIndex
CREATE INDEX "SourceFile_lotId_importedAt_idx" ON "SourceFile"("lotId", "importedAt");

-- CreateIndex
CREATE INDEX "SourceFile_sha256_idx" ON "SourceFile"("sha256");

-- CreateIndex
CREATE INDEX "SourceFile_batch_idx" ON "SourceFile"("batch");

-- CreateIndex
CREATE INDEX "SourceFile_importedAt_idx" ON "SourceFile"("importedAt");

-- CreateIndex
CREATE INDEX "Test_cellId_state_kind_idx" ON "Test"("cellId", "state", "kind");

-- CreateIndex
CREATE INDEX "Test_sourceFileId_idx" ON "Test"("sourceFileId");

-- CreateIndex
CREATE INDEX "Test_state_evaluatedAt_idx" ON "Test"("state", "evaluatedAt");

-- CreateIndex
CREATE UNIQUE INDEX "Record_testId_key" ON "Record"("testId");

-- CreateIndex
CREATE INDEX "Record_state_idx" ON "Record"("state");

-- CreateIndex
CREATE UNIQUE INDEX "Sweep_testId_position_key" ON "Sweep"("testId", "position");

-- CreateIndex
CREATE INDEX "Step_testId_origin_position_idx" ON "Step"("testId", "origin", "position");

-- CreateIndex
CREATE INDEX "Step_fitId_idx" ON "Step"("fitId");

-- CreateIndex
CREATE INDEX "Fit_testId_kind_supersededAt_idx" ON "Fit"("testId", "kind", "supersededAt");

-- CreateIndex
CREATE INDEX "Fit_cellId_kind_supersededAt_idx" ON "Fit"("cellId", "kind", "supersededAt");

-- CreateIndex
CREATE INDEX "Fit_lotId_kind_supersededAt_idx" ON "Fit"("lotId", "kind", "supersededAt");

-- CreateIndex
CREATE INDEX "Fit_cellTypeId_kind_supersededAt_idx" ON "Fit"("cellTypeId", "kind", "supersededAt");

-- CreateIndex
CREATE INDEX "Fit_supersededById_idx" ON "Fit"("supersededById");

-- CreateIndex
CREATE INDEX "Measurement_cellId_quantity_supersededAt_cycle_idx" ON "Measurement"("cellId", "quantity", "supersededAt", "cycle");

-- CreateIndex
CREATE INDEX "Measurement_testId_idx" ON "Measurement"("testId");

-- CreateIndex
CREATE INDEX "Measurement_fitId_idx" ON "Measurement"("fitId");

-- CreateIndex
CREATE INDEX "Measurement_sourceFileId_idx" ON "Measurement"("sourceFileId");

-- CreateIndex
CREATE INDEX "Pairing_lotId_createdAt_idx" ON "Pairing"("lotId", "createdAt");

-- CreateIndex
CREATE INDEX "Pair_cellAId_idx" ON "Pair"("cellAId");

-- CreateIndex
CREATE INDEX "Pair_cellBId_idx" ON "Pair"("cellBId");

-- CreateIndex
CREATE UNIQUE INDEX "Pair_pairingId_position_key" ON "Pair"("pairingId", "position");

-- CreateIndex
CREATE UNIQUE INDEX "Stack_name_key" ON "Stack"("name");

-- CreateIndex
CREATE UNIQUE INDEX "Stack_pairId_key" ON "Stack"("pairId");

-- CreateIndex
CREATE INDEX "Stack_state_idx" ON "Stack"("state");

-- CreateIndex
CREATE INDEX "StackCell_cellId_idx" ON "StackCell"("cellId");

-- CreateIndex
CREATE INDEX "ChargeStudy_createdAt_idx" ON "ChargeStudy"("createdAt");

-- CreateIndex
CREATE INDEX "ChargeStudy_stackId_idx" ON "ChargeStudy"("stackId");

-- CreateIndex
CREATE INDEX "ChargeStudy_cellId_idx" ON "ChargeStudy"("cellId");

-- CreateIndex
CREATE INDEX "ChargeStudy_cellTypeId_idx" ON "ChargeStudy"("cellTypeId");

-- CreateIndex
CREATE INDEX "Export_createdAt_idx" ON "Export"("createdAt");

-- CreateIndex
CREATE INDEX "Export_subjectKind_subjectId_idx" ON "Export"("subjectKind", "subjectId");

-- CreateIndex
CREATE INDEX "Job_state_notBefore_id_idx" ON "Job"("state", "notBefore", "id");

-- CreateIndex
CREATE INDEX "Job_createdAt_idx" ON "Job"("createdAt");

-- CreateIndex
CREATE UNIQUE INDEX "ColumnMap_name_key" ON "ColumnMap"("name");

-- CreateIndex
CREATE INDEX "ColumnMap_fingerprint_idx" ON "ColumnMap"("fingerprint");

-- CreateIndex
CREATE UNIQUE INDEX "NamePattern_name_key" ON "NamePattern"("name");

-- CreateIndex
CREATE INDEX "Attachment_cellId_idx" ON "Attachment"("cellId");

-- CreateIndex
CREATE INDEX "Attachment_stackId_idx" ON "Attachment"("stackId");

-- CreateIndex
CREATE INDEX "IdempotentAnswer_createdAt_idx" ON "IdempotentAnswer"("createdAt");

-- CreateIndex
CREATE UNIQUE INDEX "Token_name_key" ON "Token"("name");

-- CreateIndex
CREATE UNIQUE INDEX "Token_hash_key" ON "Token"("hash");

-- CreateIndex
CREATE INDEX "AuditEntry_at_idx" ON "AuditEntry"("at");

-- CreateIndex
CREATE INDEX "AuditEntry_subjectKind_subjectId_at_idx" ON "AuditEntry"("subjectKind", "subjectId", "at");

-- AddForeignKey
ALTER TABLE "CellType" ADD CONSTRAINT "CellType_chemistryId_fkey" FOREIGN KEY ("chemistryId") REFERENCES "Chemistry"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Lot" ADD CONSTRAINT "Lot_cellTypeId_fkey" FOREIGN KEY ("cellTypeId") REFERENCES "CellType"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Cell" ADD CONSTRAINT "Cell_lotId_fkey" FOREIGN KEY ("lotId") REFERENCES "Lot"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Cell" ADD CONSTRAINT "Cell_sourceFileId_fkey" FOREIGN KEY ("sourceFileId") REFERENCES "SourceFile"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "SourceFile" ADD CONSTRAINT "SourceFile_lotId_fkey" FOREIGN KEY ("lotId") REFERENCES "Lot"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Test" ADD CONSTRAINT "Test_cellId_fkey" FOREIGN KEY ("cellId") REFERENCES "Cell"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Test" ADD CONSTRAINT "Test_sourceFileId_fkey" FOREIGN KEY ("sourceFileId") REFERENCES "SourceFile"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Record" ADD CONSTRAINT "Record_testId_fkey" FOREIGN KEY ("testId") REFERENCES "Test"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "RecordChunk" ADD CONSTRAINT "RecordChunk_recordId_fkey" FOREIGN KEY ("recordId") REFERENCES "Record"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "LiveBatch" ADD CONSTRAINT "LiveBatch_testId_fkey" FOREIGN KEY ("testId") REFERENCES "Test"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Sweep" ADD CONSTRAINT "Sweep_testId_fkey" FOREIGN KEY ("testId") REFERENCES "Test"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "SweepPoint" ADD CONSTRAINT "SweepPoint_sweepId_fkey" FOREIGN KEY ("sweepId") REFERENCES "Sweep"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Step" ADD CONSTRAINT "Step_testId_fkey" FOREIGN KEY ("testId") REFERENCES "Test"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Step" ADD CONSTRAINT "Step_fitId_fkey" FOREIGN KEY ("fitId") REFERENCES "Fit"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Fit" ADD CONSTRAINT "Fit_testId_fkey" FOREIGN KEY ("testId") REFERENCES "Test"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Fit" ADD CONSTRAINT "Fit_cellId_fkey" FOREIGN KEY ("cellId") REFERENCES "Cell"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Fit" ADD CONSTRAINT "Fit_lotId_fkey" FOREIGN KEY ("lotId") REFERENCES "Lot"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Fit" ADD CONSTRAINT "Fit_cellTypeId_fkey" FOREIGN KEY ("cellTypeId") REFERENCES "CellType"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Fit" ADD CONSTRAINT "Fit_supersededById_fkey" FOREIGN KEY ("supersededById") REFERENCES "Fit"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Measurement" ADD CONSTRAINT "Measurement_cellId_fkey" FOREIGN KEY ("cellId") REFERENCES "Cell"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Measurement" ADD CONSTRAINT "Measurement_testId_fkey" FOREIGN KEY ("testId") REFERENCES "Test"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Measurement" ADD CONSTRAINT "Measurement_fitId_fkey" FOREIGN KEY ("fitId") REFERENCES "Fit"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Measurement" ADD CONSTRAINT "Measurement_sourceFileId_fkey" FOREIGN KEY ("sourceFileId") REFERENCES "SourceFile"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Pairing" ADD CONSTRAINT "Pairing_lotId_fkey" FOREIGN KEY ("lotId") REFERENCES "Lot"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Pair" ADD CONSTRAINT "Pair_pairingId_fkey" FOREIGN KEY ("pairingId") REFERENCES "Pairing"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Pair" ADD CONSTRAINT "Pair_cellAId_fkey" FOREIGN KEY ("cellAId") REFERENCES "Cell"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Pair" ADD CONSTRAINT "Pair_cellBId_fkey" FOREIGN KEY ("cellBId") REFERENCES "Cell"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Stack" ADD CONSTRAINT "Stack_pairId_fkey" FOREIGN KEY ("pairId") REFERENCES "Pair"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "StackCell" ADD CONSTRAINT "StackCell_stackId_fkey" FOREIGN KEY ("stackId") REFERENCES "Stack"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "StackCell" ADD CONSTRAINT "StackCell_cellId_fkey" FOREIGN KEY ("cellId") REFERENCES "Cell"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ChargeStudy" ADD CONSTRAINT "ChargeStudy_cellTypeId_fkey" FOREIGN KEY ("cellTypeId") REFERENCES "CellType"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ChargeStudy" ADD CONSTRAINT "ChargeStudy_cellId_fkey" FOREIGN KEY ("cellId") REFERENCES "Cell"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "ChargeStudy" ADD CONSTRAINT "ChargeStudy_stackId_fkey" FOREIGN KEY ("stackId") REFERENCES "Stack"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Attachment" ADD CONSTRAINT "Attachment_cellId_fkey" FOREIGN KEY ("cellId") REFERENCES "Cell"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "Attachment" ADD CONSTRAINT "Attachment_stackId_fkey" FOREIGN KEY ("stackId") REFERENCES "Stack"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- Packed samples are as small as they get: compressing them again would only take time. Kept whole outside the row, a
-- part of a record is read without the rest.
ALTER TABLE "RecordChunk" ALTER COLUMN "data" SET STORAGE EXTERNAL;
