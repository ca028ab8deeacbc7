-- CreateTable
CREATE TABLE "LotChange" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "lotId" INTEGER NOT NULL,
    "changes" INTEGER NOT NULL
);

-- CreateIndex
CREATE INDEX "LotChange_lotId_idx" ON "LotChange"("lotId");

-- Each lot has its row.
INSERT INTO "LotChange" ("id", "lotId", "changes") SELECT "id", "id", 0 FROM "Lot";
CREATE TRIGGER "LotChange_of_new_lot" AFTER INSERT ON "Lot" BEGIN
  INSERT INTO "LotChange" ("id", "lotId", "changes") SELECT NEW."id", NEW."id", 0
    WHERE NOT EXISTS (SELECT 1 FROM "LotChange" WHERE "id" = NEW."id");
END;

-- What the statistics of a lot are made of. A table that is made again under its name needs its triggers again.
CREATE TRIGGER "LotChange_Measurement_insert" AFTER INSERT ON "Measurement" BEGIN
  UPDATE "LotChange" SET "changes" = "changes" + 1 WHERE "id" = (SELECT "lotId" FROM "Cell" WHERE "id" = NEW."cellId");
END;
CREATE TRIGGER "LotChange_Measurement_update" AFTER UPDATE ON "Measurement" BEGIN
  UPDATE "LotChange" SET "changes" = "changes" + 1 WHERE "id" = (SELECT "lotId" FROM "Cell" WHERE "id" = NEW."cellId");
END;
CREATE TRIGGER "LotChange_Measurement_delete" AFTER DELETE ON "Measurement" BEGIN
  UPDATE "LotChange" SET "changes" = "changes" + 1 WHERE "id" = (SELECT "lotId" FROM "Cell" WHERE "id" = OLD."cellId");
END;
CREATE TRIGGER "LotChange_PresentValue_insert" AFTER INSERT ON "PresentValue" BEGIN
  UPDATE "LotChange" SET "changes" = "changes" + 1 WHERE "id" = (SELECT "lotId" FROM "LotColumn" WHERE "id" = NEW."columnId");
END;
CREATE TRIGGER "LotChange_PresentValue_update" AFTER UPDATE ON "PresentValue" BEGIN
  UPDATE "LotChange" SET "changes" = "changes" + 1 WHERE "id" = (SELECT "lotId" FROM "LotColumn" WHERE "id" = NEW."columnId");
END;
CREATE TRIGGER "LotChange_PresentValue_delete" AFTER DELETE ON "PresentValue" BEGIN
  UPDATE "LotChange" SET "changes" = "changes" + 1 WHERE "id" = (SELECT "lotId" FROM "LotColumn" WHERE "id" = OLD."columnId");
END;
CREATE TRIGGER "LotChange_Cell_insert" AFTER INSERT ON "Cell" BEGIN
  UPDATE "LotChange" SET "changes" = "changes" + 1 WHERE "id" = NEW."lotId";
END;
CREATE TRIGGER "LotChange_Cell_update" AFTER UPDATE OF "lotId", "serial", "state" ON "Cell" BEGIN
  UPDATE "LotChange" SET "changes" = "changes" + 1 WHERE "id" IN (OLD."lotId", NEW."lotId");
END;
CREATE TRIGGER "LotChange_Cell_delete" AFTER DELETE ON "Cell" BEGIN
  UPDATE "LotChange" SET "changes" = "changes" + 1 WHERE "id" = OLD."lotId";
END;
CREATE TRIGGER "LotChange_Lot_update" AFTER UPDATE ON "Lot" BEGIN
  UPDATE "LotChange" SET "changes" = "changes" + 1 WHERE "id" = NEW."id";
END;
CREATE TRIGGER "LotChange_CellType_update" AFTER UPDATE ON "CellType" BEGIN
  UPDATE "LotChange" SET "changes" = "changes" + 1 WHERE "id" IN (SELECT "id" FROM "Lot" WHERE "cellTypeId" = NEW."id");
END;
-- Rows that are stored in pieces are seen from the moment that their file is taken.
CREATE TRIGGER "LotChange_IncomingFile_insert" AFTER INSERT ON "IncomingFile" BEGIN
  UPDATE "LotChange" SET "changes" = "changes" + 1 WHERE "id" = NEW."lotId";
END;
CREATE TRIGGER "LotChange_IncomingFile_update" AFTER UPDATE ON "IncomingFile" BEGIN
  UPDATE "LotChange" SET "changes" = "changes" + 1 WHERE "id" = NEW."lotId";
END;
CREATE TRIGGER "LotChange_IncomingFile_delete" AFTER DELETE ON "IncomingFile" BEGIN
  UPDATE "LotChange" SET "changes" = "changes" + 1 WHERE "id" = OLD."lotId";
END;
