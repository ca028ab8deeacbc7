-- AlterTable
ALTER TABLE "Measurement" ADD COLUMN "countedAh" REAL;
ALTER TABLE "Measurement" ADD COLUMN "countedFromSoc" REAL;
ALTER TABLE "Measurement" ADD COLUMN "countedRatedAh" REAL;
