-- AlterTable
ALTER TABLE "Measurement" ADD COLUMN     "operator" TEXT COLLATE "C";
