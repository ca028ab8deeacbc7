-- CreateTable
CREATE TABLE "LotChange" (
    "id" BIGSERIAL NOT NULL,
    "lotId" BIGINT NOT NULL,
    "changes" BIGINT NOT NULL,

    CONSTRAINT "LotChange_pkey" PRIMARY KEY ("id")
);

-- CreateIndex
CREATE INDEX "LotChange_lotId_idx" ON "LotChange"("lotId");

-- What the statistics of a lot are made of.
CREATE FUNCTION "noteLotOfMeasurements"() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  INSERT INTO "LotChange" ("lotId", "changes") SELECT DISTINCT c."lotId", 1 FROM changed m JOIN "Cell" c ON c."id" = m."cellId";
  RETURN NULL;
END
$$;
CREATE TRIGGER "LotChange_Measurement_insert" AFTER INSERT ON "Measurement" REFERENCING NEW TABLE AS changed
  FOR EACH STATEMENT EXECUTE FUNCTION "noteLotOfMeasurements"();
CREATE TRIGGER "LotChange_Measurement_update" AFTER UPDATE ON "Measurement" REFERENCING NEW TABLE AS changed
  FOR EACH STATEMENT EXECUTE FUNCTION "noteLotOfMeasurements"();
CREATE TRIGGER "LotChange_Measurement_delete" AFTER DELETE ON "Measurement" REFERENCING OLD TABLE AS changed
  FOR EACH STATEMENT EXECUTE FUNCTION "noteLotOfMeasurements"();
CREATE FUNCTION "noteLotOfPresentValues"() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  INSERT INTO "LotChange" ("lotId", "changes") SELECT DISTINCT k."lotId", 1 FROM changed v JOIN "LotColumn" k ON k."id" = v."columnId";
  RETURN NULL;
END
$$;
CREATE TRIGGER "LotChange_PresentValue_insert" AFTER INSERT ON "PresentValue" REFERENCING NEW TABLE AS changed
  FOR EACH STATEMENT EXECUTE FUNCTION "noteLotOfPresentValues"();
CREATE TRIGGER "LotChange_PresentValue_update" AFTER UPDATE ON "PresentValue" REFERENCING NEW TABLE AS changed
  FOR EACH STATEMENT EXECUTE FUNCTION "noteLotOfPresentValues"();
CREATE TRIGGER "LotChange_PresentValue_delete" AFTER DELETE ON "PresentValue" REFERENCING OLD TABLE AS changed
  FOR EACH STATEMENT EXECUTE FUNCTION "noteLotOfPresentValues"();
CREATE FUNCTION "noteLotOfCells"() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  INSERT INTO "LotChange" ("lotId", "changes") SELECT DISTINCT "lotId", 1 FROM changed;
  RETURN NULL;
END
$$;
CREATE TRIGGER "LotChange_Cell_insert" AFTER INSERT ON "Cell" REFERENCING NEW TABLE AS changed
  FOR EACH STATEMENT EXECUTE FUNCTION "noteLotOfCells"();
CREATE TRIGGER "LotChange_Cell_delete" AFTER DELETE ON "Cell" REFERENCING OLD TABLE AS changed
  FOR EACH STATEMENT EXECUTE FUNCTION "noteLotOfCells"();
CREATE FUNCTION "noteLotsOfCell"() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  INSERT INTO "LotChange" ("lotId", "changes") SELECT DISTINCT l, 1 FROM unnest(ARRAY[OLD."lotId", NEW."lotId"]) l;
  RETURN NULL;
END
$$;
CREATE TRIGGER "LotChange_Cell_update" AFTER UPDATE ON "Cell" FOR EACH ROW
  WHEN (OLD."lotId" <> NEW."lotId" OR OLD."serial" <> NEW."serial" OR OLD."state" <> NEW."state")
  EXECUTE FUNCTION "noteLotsOfCell"();
CREATE FUNCTION "noteLot"() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  INSERT INTO "LotChange" ("lotId", "changes") VALUES (NEW."id", 1);
  RETURN NULL;
END
$$;
CREATE TRIGGER "LotChange_Lot_update" AFTER UPDATE ON "Lot" FOR EACH ROW EXECUTE FUNCTION "noteLot"();
CREATE FUNCTION "noteLotsOfCellType"() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  INSERT INTO "LotChange" ("lotId", "changes") SELECT "id", 1 FROM "Lot" WHERE "cellTypeId" = NEW."id";
  RETURN NULL;
END
$$;
CREATE TRIGGER "LotChange_CellType_update" AFTER UPDATE ON "CellType" FOR EACH ROW
  EXECUTE FUNCTION "noteLotsOfCellType"();
