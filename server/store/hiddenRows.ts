// Files that are being stored in pieces (server/store/incomingFiles.ts) are in the tables of an SQLite file before they
// are taken. Connections see these tables through temporary views of the same names that leave such rows out, so that no
// query has to think of them. Of a file that is shown they leave out what its values replaced, until that is removed.

const shown: Readonly<Record<string, string>> = {
  SourceFile: `r."id" NOT IN (SELECT "sourceFileId" FROM main."IncomingFile" WHERE "shown" = 0)`,
  Cell: notBetween('id', 'CellId'),
  Measurement: notBetween('id', 'MeasurementId'),
  PresentValue: `${notBetween('measurementId', 'MeasurementId')}
    AND NOT EXISTS (SELECT 1 FROM main."IncomingFile" f CROSS JOIN main."PresentValue" n WHERE f."shown" = 1
      AND r."measurementId" NOT BETWEEN f."firstMeasurementId" AND f."lastMeasurementId"
      AND n."columnId" = r."columnId" AND n."cellId" = r."cellId" AND n."rate" = r."rate"
      AND n."measurementId" BETWEEN f."firstMeasurementId" AND f."lastMeasurementId")`,
};

function notBetween(column: string, range: string): string {
  return `NOT EXISTS (SELECT 1 FROM main."IncomingFile" f
    WHERE f."shown" = 0 AND r."${column}" BETWEEN f."first${range}" AND f."last${range}")`;
}

/** Statements that make a connection see the tables without what is being stored in pieces. */
export const viewsOfShownRows: string = Object.entries(shown)
  .map(
    ([table, condition]) =>
      `CREATE TEMP VIEW "${table}" AS SELECT r.* FROM main."${table}" r WHERE ${condition};`,
  )
  .join('\n');

const changed = new RegExp(
  `^(\\s*(?:insert\\s+(?:or\\s+\\w+\\s+)?into|update|delete\\s+from)\\s+)"?(${Object.keys(shown).join('|')})"?(?=[\\s(]|$)`,
  'i',
);

/** A statement that changes one of these tables changes the table itself: a view cannot be changed. */
export function changingTheTable(sql: string): string {
  return sql.replace(changed, '$1main."$2"');
}
