-- AlterTable
ALTER TABLE "Test" ADD COLUMN "evaluatedWithId" INTEGER;

-- CreateIndex
CREATE INDEX "Test_evaluatedWithId_idx" ON "Test"("evaluatedWithId");
