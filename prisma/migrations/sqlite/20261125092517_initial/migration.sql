-- CreateTable
CREATE TABLE "Chemistry" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "name" TEXT NOT NULL,
    "description" TEXT NOT NULL DEFAULT '',
    "nominalVoltageV" REAL NOT NULL,
    "chargeVoltageLimitV" REAL NOT NULL,
    "dischargeCutoffV" REAL NOT NULL,
    "plausibleVoltageMinV" REAL NOT NULL,
    "plausibleVoltageMaxV" REAL NOT NULL,
    "usualChargeRateC" REAL NOT NULL,
    "chargeTemperatureMinC" REAL NOT NULL,
    "chargeTemperatureMaxC" REAL NOT NULL,
    "basis" TEXT NOT NULL,
    "version" INTEGER NOT NULL DEFAULT 1
);

-- CreateTable
CREATE TABLE "CellType" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "name" TEXT NOT NULL,
    "maker" TEXT NOT NULL DEFAULT '',
    "chemistryId" INTEGER NOT NULL,
    "ratedCapacityAh" REAL NOT NULL,
    "chargeVoltageLimitV" REAL,
    "dischargeCutoffV" REAL,
    "maxChargeCurrentA" REAL,
    "maxDischargeCurrentA" REAL,
    "taperCurrentA" REAL,
    "chargeTemperatureMinC" REAL,
    "chargeTemperatureMaxC" REAL,
    "massG" REAL,
    "heatCapacityJPerK" REAL,
    "heatTransferWPerK" REAL,
    "capacityMinAh" REAL,
    "resistanceMaxOhm" REAL,
    "resistanceDurationS" REAL,
    "referenceTemperatureC" REAL NOT NULL DEFAULT 25,
    "referenceSoc" REAL NOT NULL DEFAULT 0.5,
    "datasheet" TEXT NOT NULL DEFAULT '',
    "createdAt" TEXT NOT NULL,
    "version" INTEGER NOT NULL DEFAULT 1,
    CONSTRAINT "CellType_chemistryId_fkey" FOREIGN KEY ("chemistryId") REFERENCES "Chemistry" ("id") ON DELETE RESTRICT ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "Lot" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "name" TEXT NOT NULL,
    "cellTypeId" INTEGER NOT NULL,
    "receivedOn" TEXT,
    "note" TEXT NOT NULL DEFAULT '',
    "createdAt" TEXT NOT NULL,
    "version" INTEGER NOT NULL DEFAULT 1,
    CONSTRAINT "Lot_cellTypeId_fkey" FOREIGN KEY ("cellTypeId") REFERENCES "CellType" ("id") ON DELETE RESTRICT ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "Cell" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "lotId" INTEGER NOT NULL,
    "serial" TEXT NOT NULL,
    "state" TEXT NOT NULL DEFAULT 'available',
    "stateReason" TEXT,
    "note" TEXT NOT NULL DEFAULT '',
    "createdAt" TEXT NOT NULL,
    "sourceFileId" INTEGER,
    "version" INTEGER NOT NULL DEFAULT 1,
    CONSTRAINT "Cell_lotId_fkey" FOREIGN KEY ("lotId") REFERENCES "Lot" ("id") ON DELETE RESTRICT ON UPDATE CASCADE,
    CONSTRAINT "Cell_sourceFileId_fkey" FOREIGN KEY ("sourceFileId") REFERENCES "SourceFile" ("id") ON DELETE SET NULL ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "SourceFile" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "name" TEXT NOT NULL,
    "sha256" TEXT NOT NULL,
    "takenSha256" TEXT,
    "bytes" REAL NOT NULL,
    "kind" TEXT NOT NULL,
    "state" TEXT NOT NULL,
    "lotId" INTEGER,
    "rowCount" INTEGER NOT NULL DEFAULT 0,
    "importedAt" TEXT NOT NULL,
    "importedBy" TEXT NOT NULL,
    "mappingJson" TEXT NOT NULL DEFAULT '{}',
    "reportJson" TEXT NOT NULL DEFAULT '{}',
    "batch" TEXT,
    CONSTRAINT "SourceFile_lotId_fkey" FOREIGN KEY ("lotId") REFERENCES "Lot" ("id") ON DELETE SET NULL ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "Test" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "cellId" INTEGER NOT NULL,
    "kind" TEXT NOT NULL,
    "state" TEXT NOT NULL DEFAULT 'staged',
    "label" TEXT NOT NULL DEFAULT '',
    "startedAt" TEXT,
    "temperatureC" REAL,
    "cycle" REAL,
    "efc" REAL,
    "startSoc" REAL,
    "instrument" TEXT NOT NULL DEFAULT '',
    "fixtureOhm" REAL,
    "fixtureUncertaintyOhm" REAL,
    "sourceFileId" INTEGER,
    "sourceRowFirst" INTEGER,
    "sourceRowLast" INTEGER,
    "settingsJson" TEXT NOT NULL DEFAULT '{}',
    "note" TEXT NOT NULL DEFAULT '',
    "createdAt" TEXT NOT NULL,
    "evaluatedAt" TEXT,
    "evaluationError" TEXT,
    "version" INTEGER NOT NULL DEFAULT 1,
    CONSTRAINT "Test_cellId_fkey" FOREIGN KEY ("cellId") REFERENCES "Cell" ("id") ON DELETE RESTRICT ON UPDATE CASCADE,
    CONSTRAINT "Test_sourceFileId_fkey" FOREIGN KEY ("sourceFileId") REFERENCES "SourceFile" ("id") ON DELETE RESTRICT ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "Record" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "testId" INTEGER NOT NULL,
    "state" TEXT NOT NULL DEFAULT 'staged',
    "rowCount" INTEGER NOT NULL DEFAULT 0,
    "durationS" REAL NOT NULL DEFAULT 0,
    "columnsJson" TEXT NOT NULL,
    "format" INTEGER NOT NULL DEFAULT 1,
    "createdAt" TEXT NOT NULL,
    CONSTRAINT "Record_testId_fkey" FOREIGN KEY ("testId") REFERENCES "Test" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "RecordChunk" (
    "recordId" INTEGER NOT NULL,
    "column" INTEGER NOT NULL,
    "firstRow" INTEGER NOT NULL,
    "rowCount" INTEGER NOT NULL,
    "min" REAL NOT NULL,
    "max" REAL NOT NULL,
    "data" BLOB NOT NULL,

    PRIMARY KEY ("recordId", "column", "firstRow"),
    CONSTRAINT "RecordChunk_recordId_fkey" FOREIGN KEY ("recordId") REFERENCES "Record" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "LiveBatch" (
    "testId" INTEGER NOT NULL,
    "key" TEXT NOT NULL,
    "firstRow" INTEGER NOT NULL,
    "rowCount" INTEGER NOT NULL,
    "receivedAt" TEXT NOT NULL,

    PRIMARY KEY ("testId", "key"),
    CONSTRAINT "LiveBatch_testId_fkey" FOREIGN KEY ("testId") REFERENCES "Test" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "Step" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "testId" INTEGER NOT NULL,
    "fitId" INTEGER,
    "origin" TEXT NOT NULL,
    "position" INTEGER NOT NULL,
    "mode" TEXT NOT NULL,
    "startTimeS" REAL NOT NULL,
    "durationS" REAL NOT NULL,
    "startRow" INTEGER,
    "endRow" INTEGER,
    "meanCurrentA" REAL,
    "startVoltageV" REAL,
    "endVoltageV" REAL,
    "chargeAh" REAL,
    "cycle" REAL,
    "detailJson" TEXT NOT NULL DEFAULT '{}',
    CONSTRAINT "Step_testId_fkey" FOREIGN KEY ("testId") REFERENCES "Test" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "Step_fitId_fkey" FOREIGN KEY ("fitId") REFERENCES "Fit" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "Fit" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "kind" TEXT NOT NULL,
    "testId" INTEGER,
    "cellId" INTEGER,
    "lotId" INTEGER,
    "cellTypeId" INTEGER,
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
    CONSTRAINT "Fit_supersededById_fkey" FOREIGN KEY ("supersededById") REFERENCES "Fit" ("id") ON DELETE SET NULL ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "Measurement" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "cellId" INTEGER NOT NULL,
    "testId" INTEGER,
    "fitId" INTEGER,
    "sourceFileId" INTEGER,
    "sourceRow" INTEGER,
    "quantity" TEXT NOT NULL,
    "unit" TEXT NOT NULL,
    "value" REAL,
    "standardUncertainty" REAL,
    "reason" TEXT,
    "soc" REAL,
    "temperatureC" REAL,
    "direction" TEXT,
    "durationS" REAL,
    "currentA" REAL,
    "cycle" REAL,
    "efc" REAL,
    "method" TEXT NOT NULL,
    "excludedReason" TEXT,
    "measuredAt" TEXT,
    "createdAt" TEXT NOT NULL,
    "supersededAt" TEXT,
    CONSTRAINT "Measurement_cellId_fkey" FOREIGN KEY ("cellId") REFERENCES "Cell" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "Measurement_testId_fkey" FOREIGN KEY ("testId") REFERENCES "Test" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "Measurement_fitId_fkey" FOREIGN KEY ("fitId") REFERENCES "Fit" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "Measurement_sourceFileId_fkey" FOREIGN KEY ("sourceFileId") REFERENCES "SourceFile" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "Pairing" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "lotId" INTEGER NOT NULL,
    "criteriaJson" TEXT NOT NULL,
    "resultJson" TEXT NOT NULL,
    "algorithm" TEXT NOT NULL,
    "algorithmVersion" TEXT NOT NULL,
    "pairCount" INTEGER NOT NULL,
    "unpairedCount" INTEGER NOT NULL,
    "totalCost" REAL NOT NULL,
    "proven" BOOLEAN NOT NULL,
    "createdAt" TEXT NOT NULL,
    "createdBy" TEXT NOT NULL,
    CONSTRAINT "Pairing_lotId_fkey" FOREIGN KEY ("lotId") REFERENCES "Lot" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "Pair" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "pairingId" INTEGER NOT NULL,
    "position" INTEGER NOT NULL,
    "cellAId" INTEGER NOT NULL,
    "cellBId" INTEGER NOT NULL,
    "cost" REAL NOT NULL,
    "state" TEXT NOT NULL DEFAULT 'proposed',
    "reason" TEXT,
    "detailJson" TEXT NOT NULL DEFAULT '{}',
    "version" INTEGER NOT NULL DEFAULT 1,
    CONSTRAINT "Pair_pairingId_fkey" FOREIGN KEY ("pairingId") REFERENCES "Pairing" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "Pair_cellAId_fkey" FOREIGN KEY ("cellAId") REFERENCES "Cell" ("id") ON DELETE RESTRICT ON UPDATE CASCADE,
    CONSTRAINT "Pair_cellBId_fkey" FOREIGN KEY ("cellBId") REFERENCES "Cell" ("id") ON DELETE RESTRICT ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "Stack" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "name" TEXT NOT NULL,
    "pairId" INTEGER,
    "state" TEXT NOT NULL DEFAULT 'planned',
    "note" TEXT NOT NULL DEFAULT '',
    "createdAt" TEXT NOT NULL,
    "builtAt" TEXT,
    "checkUpDueAt" TEXT,
    "version" INTEGER NOT NULL DEFAULT 1,
    CONSTRAINT "Stack_pairId_fkey" FOREIGN KEY ("pairId") REFERENCES "Pair" ("id") ON DELETE SET NULL ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "StackCell" (
    "stackId" INTEGER NOT NULL,
    "position" INTEGER NOT NULL,
    "cellId" INTEGER NOT NULL,
    "chosenJson" TEXT NOT NULL DEFAULT '{}',

    PRIMARY KEY ("stackId", "position"),
    CONSTRAINT "StackCell_stackId_fkey" FOREIGN KEY ("stackId") REFERENCES "Stack" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "StackCell_cellId_fkey" FOREIGN KEY ("cellId") REFERENCES "Cell" ("id") ON DELETE RESTRICT ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "ChargeStudy" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "name" TEXT NOT NULL,
    "cellTypeId" INTEGER,
    "cellId" INTEGER,
    "stackId" INTEGER,
    "descriptionJson" TEXT NOT NULL,
    "resultJson" TEXT,
    "algorithm" TEXT NOT NULL,
    "algorithmVersion" TEXT NOT NULL,
    "inputsJson" TEXT NOT NULL DEFAULT '{}',
    "state" TEXT NOT NULL,
    "error" TEXT,
    "createdAt" TEXT NOT NULL,
    "createdBy" TEXT NOT NULL,
    "version" INTEGER NOT NULL DEFAULT 1,
    CONSTRAINT "ChargeStudy_cellTypeId_fkey" FOREIGN KEY ("cellTypeId") REFERENCES "CellType" ("id") ON DELETE SET NULL ON UPDATE CASCADE,
    CONSTRAINT "ChargeStudy_cellId_fkey" FOREIGN KEY ("cellId") REFERENCES "Cell" ("id") ON DELETE SET NULL ON UPDATE CASCADE,
    CONSTRAINT "ChargeStudy_stackId_fkey" FOREIGN KEY ("stackId") REFERENCES "Stack" ("id") ON DELETE SET NULL ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "Export" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "format" TEXT NOT NULL,
    "subjectKind" TEXT NOT NULL,
    "subjectId" INTEGER NOT NULL,
    "fileName" TEXT NOT NULL,
    "mediaType" TEXT NOT NULL,
    "sha256" TEXT NOT NULL,
    "bytes" INTEGER NOT NULL,
    "data" BLOB NOT NULL,
    "createdAt" TEXT NOT NULL,
    "createdBy" TEXT NOT NULL
);

-- CreateTable
CREATE TABLE "Job" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "kind" TEXT NOT NULL,
    "state" TEXT NOT NULL DEFAULT 'waiting',
    "inputJson" TEXT NOT NULL,
    "resultJson" TEXT,
    "error" TEXT,
    "progress" REAL NOT NULL DEFAULT 0,
    "progressText" TEXT NOT NULL DEFAULT '',
    "attempts" INTEGER NOT NULL DEFAULT 0,
    "maxAttempts" INTEGER NOT NULL DEFAULT 3,
    "cancelRequested" BOOLEAN NOT NULL DEFAULT false,
    "workerId" TEXT,
    "heartbeatAt" TEXT,
    "notBefore" TEXT,
    "createdAt" TEXT NOT NULL,
    "createdBy" TEXT NOT NULL,
    "startedAt" TEXT,
    "finishedAt" TEXT
);

-- CreateTable
CREATE TABLE "ColumnMap" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "name" TEXT NOT NULL,
    "fingerprint" TEXT NOT NULL,
    "mapJson" TEXT NOT NULL,
    "createdAt" TEXT NOT NULL,
    "lastUsedAt" TEXT
);

-- CreateTable
CREATE TABLE "NamePattern" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "name" TEXT NOT NULL,
    "pattern" TEXT NOT NULL,
    "createdAt" TEXT NOT NULL
);

-- CreateTable
CREATE TABLE "Attachment" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "cellId" INTEGER,
    "stackId" INTEGER,
    "name" TEXT NOT NULL,
    "mediaType" TEXT NOT NULL,
    "text" TEXT,
    "data" BLOB,
    "createdAt" TEXT NOT NULL,
    "createdBy" TEXT NOT NULL,
    CONSTRAINT "Attachment_cellId_fkey" FOREIGN KEY ("cellId") REFERENCES "Cell" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "Attachment_stackId_fkey" FOREIGN KEY ("stackId") REFERENCES "Stack" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "IdempotentAnswer" (
    "key" TEXT NOT NULL,
    "route" TEXT NOT NULL,
    "requestHash" TEXT NOT NULL,
    "status" INTEGER NOT NULL,
    "bodyJson" TEXT NOT NULL,
    "createdAt" TEXT NOT NULL,

    PRIMARY KEY ("key", "route")
);

-- CreateTable
CREATE TABLE "Token" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "name" TEXT NOT NULL,
    "hash" TEXT NOT NULL,
    "role" TEXT NOT NULL,
    "createdAt" TEXT NOT NULL,
    "lastUsedAt" TEXT,
    "revokedAt" TEXT
);

-- CreateTable
CREATE TABLE "AuditEntry" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "at" TEXT NOT NULL,
    "actor" TEXT NOT NULL,
    "action" TEXT NOT NULL,
    "subjectKind" TEXT NOT NULL,
    "subjectId" INTEGER,
    "detailJson" TEXT NOT NULL DEFAULT '{}'
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
