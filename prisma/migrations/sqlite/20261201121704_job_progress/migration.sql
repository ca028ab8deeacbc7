-- CreateTable
CREATE TABLE "JobProgress" (
    "jobId" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "workerId" TEXT NOT NULL,
    "heartbeatAt" TEXT NOT NULL,
    "progress" REAL NOT NULL DEFAULT 0,
    "progressText" TEXT NOT NULL DEFAULT '',
    CONSTRAINT "JobProgress_jobId_fkey" FOREIGN KEY ("jobId") REFERENCES "Job" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- Of running jobs, how far they are.
INSERT INTO "JobProgress" ("jobId", "workerId", "heartbeatAt", "progress", "progressText")
  SELECT "id", "workerId", "heartbeatAt", "progress", "progressText" FROM "Job" WHERE "workerId" IS NOT NULL AND "heartbeatAt" IS NOT NULL;

-- RedefineTables
PRAGMA defer_foreign_keys=ON;
PRAGMA foreign_keys=OFF;
CREATE TABLE "new_Job" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "kind" TEXT NOT NULL,
    "state" TEXT NOT NULL DEFAULT 'waiting',
    "inputJson" TEXT NOT NULL,
    "resultJson" TEXT,
    "error" TEXT,
    "attempts" INTEGER NOT NULL DEFAULT 0,
    "maxAttempts" INTEGER NOT NULL DEFAULT 3,
    "cancelRequested" BOOLEAN NOT NULL DEFAULT false,
    "workerId" TEXT,
    "notBefore" TEXT,
    "createdAt" TEXT NOT NULL,
    "createdBy" TEXT NOT NULL,
    "startedAt" TEXT,
    "finishedAt" TEXT
);
INSERT INTO "new_Job" ("attempts", "cancelRequested", "createdAt", "createdBy", "error", "finishedAt", "id", "inputJson", "kind", "maxAttempts", "notBefore", "resultJson", "startedAt", "state", "workerId") SELECT "attempts", "cancelRequested", "createdAt", "createdBy", "error", "finishedAt", "id", "inputJson", "kind", "maxAttempts", "notBefore", "resultJson", "startedAt", "state", "workerId" FROM "Job";
DROP TABLE "Job";
ALTER TABLE "new_Job" RENAME TO "Job";
CREATE INDEX "Job_state_notBefore_id_idx" ON "Job"("state", "notBefore", "id");
CREATE INDEX "Job_createdAt_idx" ON "Job"("createdAt");
PRAGMA foreign_keys=ON;
PRAGMA defer_foreign_keys=OFF;
