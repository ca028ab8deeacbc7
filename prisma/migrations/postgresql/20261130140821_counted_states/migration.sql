-- AlterTable
ALTER TABLE "Measurement" ADD COLUMN     "countedAh" DOUBLE PRECISION,
ADD COLUMN     "countedFromSoc" DOUBLE PRECISION,
ADD COLUMN     "countedRatedAh" DOUBLE PRECISION;
