-- AlterTable
ALTER TABLE "Test" ADD COLUMN     "evaluatedWithId" BIGINT;

-- CreateIndex
CREATE INDEX "Test_evaluatedWithId_idx" ON "Test"("evaluatedWithId");
