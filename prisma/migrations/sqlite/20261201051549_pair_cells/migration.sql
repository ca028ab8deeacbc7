-- CreateTable
CREATE TABLE "PairCell" (
    "pairId" INTEGER NOT NULL,
    "position" INTEGER NOT NULL,
    "cellId" INTEGER NOT NULL,

    PRIMARY KEY ("pairId", "position"),
    CONSTRAINT "PairCell_pairId_fkey" FOREIGN KEY ("pairId") REFERENCES "Pair" ("id") ON DELETE CASCADE ON UPDATE CASCADE,
    CONSTRAINT "PairCell_cellId_fkey" FOREIGN KEY ("cellId") REFERENCES "Cell" ("id") ON DELETE RESTRICT ON UPDATE CASCADE
);

-- The two cells of every pair become its members.
INSERT INTO "PairCell" ("pairId", "position", "cellId") SELECT "id", 0, "cellAId" FROM "Pair";
INSERT INTO "PairCell" ("pairId", "position", "cellId") SELECT "id", 1, "cellBId" FROM "Pair";

-- RedefineTables
PRAGMA defer_foreign_keys=ON;
PRAGMA foreign_keys=OFF;
CREATE TABLE "new_Pair" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "pairingId" INTEGER NOT NULL,
    "position" INTEGER NOT NULL,
    "cost" REAL NOT NULL,
    "state" TEXT NOT NULL DEFAULT 'proposed',
    "reason" TEXT,
    "detailJson" TEXT NOT NULL DEFAULT '{}',
    "version" INTEGER NOT NULL DEFAULT 1,
    CONSTRAINT "Pair_pairingId_fkey" FOREIGN KEY ("pairingId") REFERENCES "Pairing" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);
INSERT INTO "new_Pair" ("cost", "detailJson", "id", "pairingId", "position", "reason", "state", "version") SELECT "cost", "detailJson", "id", "pairingId", "position", "reason", "state", "version" FROM "Pair";
DROP TABLE "Pair";
ALTER TABLE "new_Pair" RENAME TO "Pair";
CREATE UNIQUE INDEX "Pair_pairingId_position_key" ON "Pair"("pairingId", "position");
PRAGMA foreign_keys=ON;
PRAGMA defer_foreign_keys=OFF;

-- CreateIndex
CREATE INDEX "PairCell_cellId_idx" ON "PairCell"("cellId");
