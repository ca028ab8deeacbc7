-- CreateTable
CREATE TABLE "PairCell" (
    "pairId" BIGINT NOT NULL,
    "position" BIGINT NOT NULL,
    "cellId" BIGINT NOT NULL,

    CONSTRAINT "PairCell_pkey" PRIMARY KEY ("pairId","position")
);

-- The two cells of every pair become its members.
INSERT INTO "PairCell" ("pairId", "position", "cellId") SELECT "id", 0, "cellAId" FROM "Pair";
INSERT INTO "PairCell" ("pairId", "position", "cellId") SELECT "id", 1, "cellBId" FROM "Pair";

-- DropForeignKey
ALTER TABLE "Pair" DROP CONSTRAINT "Pair_cellAId_fkey";

-- DropForeignKey
ALTER TABLE "Pair" DROP CONSTRAINT "Pair_cellBId_fkey";

-- DropIndex
DROP INDEX "Pair_cellAId_idx";

-- DropIndex
DROP INDEX "Pair_cellBId_idx";

-- AlterTable
ALTER TABLE "Pair" DROP COLUMN "cellAId",
DROP COLUMN "cellBId";

-- CreateIndex
CREATE INDEX "PairCell_cellId_idx" ON "PairCell"("cellId");

-- AddForeignKey
ALTER TABLE "PairCell" ADD CONSTRAINT "PairCell_pairId_fkey" FOREIGN KEY ("pairId") REFERENCES "Pair"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "PairCell" ADD CONSTRAINT "PairCell_cellId_fkey" FOREIGN KEY ("cellId") REFERENCES "Cell"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
