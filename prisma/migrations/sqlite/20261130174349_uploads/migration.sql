-- CreateTable
CREATE TABLE "Upload" (
    "id" TEXT NOT NULL PRIMARY KEY,
    "receivedAt" TEXT NOT NULL
);

-- CreateTable
CREATE TABLE "UploadPiece" (
    "uploadId" TEXT NOT NULL,
    "position" INTEGER NOT NULL,
    "data" BLOB NOT NULL,

    PRIMARY KEY ("uploadId", "position"),
    CONSTRAINT "UploadPiece_uploadId_fkey" FOREIGN KEY ("uploadId") REFERENCES "Upload" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);
