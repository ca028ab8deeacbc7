-- AlterTable
ALTER TABLE "Fit" ADD COLUMN "quantity" TEXT;

-- What the assessments there are were asked about.
UPDATE "Fit" SET "quantity" = json_extract("settingsJson", '$.quantity') WHERE "kind" IN ('ageing', 'ageing-lot');
