-- AlterTable
ALTER TABLE "Cell" ADD COLUMN     "canBePaired" BOOLEAN NOT NULL DEFAULT false,
ADD COLUMN     "testCount" BIGINT NOT NULL DEFAULT 0;

-- AlterTable
ALTER TABLE "SourceFile" ADD COLUMN     "headJson" TEXT COLLATE "C";

-- CreateTable
CREATE TABLE "LotColumn" (
    "id" BIGSERIAL NOT NULL,
    "lotId" BIGINT NOT NULL,
    "quantity" TEXT COLLATE "C" NOT NULL,
    "durationS" DOUBLE PRECISION NOT NULL,
    "direction" TEXT COLLATE "C" NOT NULL,
    "socTwentieths" BIGINT NOT NULL,
    "temperatureC" BIGINT NOT NULL,

    CONSTRAINT "LotColumn_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "PresentValue" (
    "measurementId" BIGINT NOT NULL,
    "columnId" BIGINT NOT NULL,
    "cellId" BIGINT NOT NULL,
    "rate" BIGINT NOT NULL,
    "value" DOUBLE PRECISION NOT NULL,
    "currentA" DOUBLE PRECISION,
    "running" BIGINT NOT NULL,
    "cycle" DOUBLE PRECISION NOT NULL,
    "readings" BIGINT NOT NULL,

    CONSTRAINT "PresentValue_pkey" PRIMARY KEY ("measurementId")
);

-- CreateIndex
CREATE UNIQUE INDEX "LotColumn_lotId_quantity_durationS_direction_socTwentieths__key" ON "LotColumn"("lotId", "quantity", "durationS", "direction", "socTwentieths", "temperatureC");

-- CreateIndex
CREATE UNIQUE INDEX "PresentValue_columnId_cellId_rate_key" ON "PresentValue"("columnId", "cellId", "rate");

-- CreateIndex
CREATE INDEX "Cell_state_canBePaired_serial_idx" ON "Cell"("state", "canBePaired", "serial");

-- CreateIndex
CREATE INDEX "Measurement_excluded_idx" ON "Measurement"("cellId") WHERE ("excludedReason" IS NOT NULL);

-- CreateIndex
CREATE INDEX "Test_evaluation_failed_idx" ON "Test"("state") WHERE ("evaluationError" IS NOT NULL);

-- AddForeignKey
ALTER TABLE "LotColumn" ADD CONSTRAINT "LotColumn_lotId_fkey" FOREIGN KEY ("lotId") REFERENCES "Lot"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PresentValue" ADD CONSTRAINT "PresentValue_measurementId_fkey" FOREIGN KEY ("measurementId") REFERENCES "Measurement"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PresentValue" ADD CONSTRAINT "PresentValue_columnId_fkey" FOREIGN KEY ("columnId") REFERENCES "LotColumn"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- A stored document, or null where it is not JSON.
CREATE OR REPLACE FUNCTION readable_json(document text) RETURNS json LANGUAGE plpgsql IMMUTABLE PARALLEL SAFE AS $$
BEGIN
  RETURN document::json;
EXCEPTION WHEN others THEN
  RETURN NULL;
END
$$;

-- The present values of the measurements that are there.
INSERT INTO "LotColumn" ("lotId", "quantity", "durationS", "direction", "socTwentieths", "temperatureC")
SELECT DISTINCT c."lotId", m."quantity", coalesce(m."durationS", -1), coalesce(m."direction", ''),
  coalesce(cast(floor(m."soc" * 20 + 0.5) as integer), -1), coalesce(cast(floor(m."temperatureC" / 5 + 0.5) * 5 as integer), -1000)
FROM "Measurement" m JOIN "Cell" c ON c."id" = m."cellId"
WHERE m."supersededAt" IS NULL AND m."value" IS NOT NULL AND m."excludedReason" IS NULL;

INSERT INTO "PresentValue" ("measurementId", "columnId", "cellId", "rate", "value", "currentA", "running", "cycle", "readings")
SELECT "id", "columnId", "cellId", "rate", "value", "currentA", "running", "cycle", "readings" FROM (
  SELECT r.*, row_number() OVER (PARTITION BY r."columnId", r."cellId", r."rate"
      ORDER BY r."running", r."cycle" DESC, r."id" DESC) AS "place",
    count(*) OVER (PARTITION BY r."columnId", r."cellId", r."rate", r."cycle") AS "readings"
  FROM (
    SELECT m."id", m."cellId", m."value", m."currentA", coalesce(m."cycle", 0) AS "cycle",
      CASE WHEN m."testId" IS NULL AND m."cycle" IS NOT NULL THEN 1 ELSE 0 END AS "running", k."id" AS "columnId",
      CASE WHEN m."quantity" IN ('capacity', 'charge-capacity', 'energy') AND m."currentA" <> 0
        THEN cast(floor(ln(abs(m."currentA")) / ln(1.2) + 0.5) as integer) ELSE -1000 END AS "rate"
    FROM "Measurement" m
    JOIN "Cell" c ON c."id" = m."cellId"
    JOIN "LotColumn" k ON k."lotId" = c."lotId" AND k."quantity" = m."quantity"
      AND k."durationS" = coalesce(m."durationS", -1) AND k."direction" = coalesce(m."direction", '')
      AND k."socTwentieths" = coalesce(cast(floor(m."soc" * 20 + 0.5) as integer), -1)
      AND k."temperatureC" = coalesce(cast(floor(m."temperatureC" / 5 + 0.5) * 5 as integer), -1000)
    WHERE m."supersededAt" IS NULL AND m."value" IS NOT NULL AND m."excludedReason" IS NULL
  ) r
) ranked WHERE "place" = 1;

UPDATE "Cell" SET "canBePaired" = true WHERE
  EXISTS (SELECT 1 FROM "Measurement" m WHERE m."cellId" = "Cell"."id" AND m."quantity" = 'capacity'
    AND m."supersededAt" IS NULL AND m."value" IS NOT NULL AND m."excludedReason" IS NULL)
  AND EXISTS (SELECT 1 FROM "Measurement" m WHERE m."cellId" = "Cell"."id" AND m."quantity" = 'resistance'
    AND m."supersededAt" IS NULL AND m."value" IS NOT NULL AND m."excludedReason" IS NULL);

UPDATE "Cell" SET "testCount" = (SELECT count(*) FROM "Test" x WHERE x."cellId" = "Cell"."id" AND x."state" = 'sealed');
