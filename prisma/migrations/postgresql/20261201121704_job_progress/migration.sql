-- CreateTable
CREATE TABLE "JobProgress" (
    "jobId" BIGINT NOT NULL,
    "workerId" TEXT COLLATE "C" NOT NULL,
    "heartbeatAt" TEXT COLLATE "C" NOT NULL,
    "progress" DOUBLE PRECISION NOT NULL DEFAULT 0,
    "progressText" TEXT COLLATE "C" NOT NULL DEFAULT '',

    CONSTRAINT "JobProgress_pkey" PRIMARY KEY ("jobId")
);

-- Of running jobs, how far they are.
INSERT INTO "JobProgress" ("jobId", "workerId", "heartbeatAt", "progress", "progressText")
  SELECT "id", "workerId", "heartbeatAt", "progress", "progressText" FROM "Job" WHERE "workerId" IS NOT NULL AND "heartbeatAt" IS NOT NULL;

-- AlterTable
ALTER TABLE "Job" DROP COLUMN "heartbeatAt",
DROP COLUMN "progress",
DROP COLUMN "progressText";

-- AddForeignKey
ALTER TABLE "JobProgress" ADD CONSTRAINT "JobProgress_jobId_fkey" FOREIGN KEY ("jobId") REFERENCES "Job"("id") ON DELETE CASCADE ON UPDATE CASCADE;
