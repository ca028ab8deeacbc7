-- CreateTable
CREATE TABLE "Upload" (
    "id" TEXT COLLATE "C" NOT NULL,
    "receivedAt" TEXT COLLATE "C" NOT NULL,

    CONSTRAINT "Upload_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "UploadPiece" (
    "uploadId" TEXT COLLATE "C" NOT NULL,
    "position" BIGINT NOT NULL,
    "data" BYTEA NOT NULL,

    CONSTRAINT "UploadPiece_pkey" PRIMARY KEY ("uploadId","position")
);

-- AddForeignKey
ALTER TABLE "UploadPiece" ADD CONSTRAINT "UploadPiece_uploadId_fkey" FOREIGN KEY ("uploadId") REFERENCES "Upload"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- What is uploaded is often packed already, and is read once: packing it again would only cost time.
ALTER TABLE "UploadPiece" ALTER COLUMN "data" SET STORAGE EXTERNAL;
