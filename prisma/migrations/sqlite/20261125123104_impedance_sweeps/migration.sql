-- CreateTable
CREATE TABLE "Sweep" (
    "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    "testId" INTEGER NOT NULL,
    "position" INTEGER NOT NULL,
    "label" TEXT NOT NULL,
    "soc" REAL,
    "chargeAh" REAL,
    "voltageV" REAL,
    "temperatureC" REAL,
    "sourceRowFirst" INTEGER NOT NULL,
    "sourceRowLast" INTEGER NOT NULL,
    CONSTRAINT "Sweep_testId_fkey" FOREIGN KEY ("testId") REFERENCES "Test" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateTable
CREATE TABLE "SweepPoint" (
    "sweepId" INTEGER NOT NULL,
    "position" INTEGER NOT NULL,
    "frequencyHz" REAL NOT NULL,
    "realOhm" REAL NOT NULL,
    "imaginaryOhm" REAL NOT NULL,
    "sourceRow" INTEGER NOT NULL,

    PRIMARY KEY ("sweepId", "position"),
    CONSTRAINT "SweepPoint_sweepId_fkey" FOREIGN KEY ("sweepId") REFERENCES "Sweep" ("id") ON DELETE CASCADE ON UPDATE CASCADE
);

-- CreateIndex
CREATE UNIQUE INDEX "Sweep_testId_position_key" ON "Sweep"("testId", "position");
