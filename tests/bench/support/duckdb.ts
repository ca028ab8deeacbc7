import type { DuckDBConnection } from '@duckdb/node-api';

/** A DuckDB connection with so many threads, or null where the package is missing. */
export async function openDuckDb(threads: number): Promise<DuckDBConnection | null> {
  try {
    const { DuckDBInstance } = await import('@duckdb/node-api');
    const connection = await (await DuckDBInstance.create(':memory:')).connect();
    await connection.run(`SET threads = ${threads}`);
    return connection;
  } catch (error) {
    if ((error as { code?: string }).code === 'ERR_MODULE_NOT_FOUND') return null;
    throw error;
  }
}

const doubles = `columns = {'time_s': 'DOUBLE', 'voltage_V': 'DOUBLE', 'current_A': 'DOUBLE', 'temperature_C': 'DOUBLE'}`;
const integers =
  'CAST(time_s * 1000 AS INTEGER) AS t, CAST(voltage_V * 100000 AS INTEGER) AS v, ' +
  'CAST(current_A * 1000000 AS INTEGER) AS i, CAST(temperature_C * 1000 AS INTEGER) AS k';

/** Ways of DuckDB to store the record, by name: the COPY statement without its target. */
export const copyVariants: Readonly<Record<string, { select: string; options: string }>> = {
  'COPY to Parquet, snappy': { select: '*', options: 'COMPRESSION snappy' },
  'COPY to Parquet, zstd, v2 encodings': { select: '*', options: 'COMPRESSION zstd, PARQUET_VERSION v2' },
  'COPY to Parquet, fixed-point integers, v2, zstd': {
    select: integers,
    options: 'COMPRESSION zstd, PARQUET_VERSION v2',
  },
};

/** Stores the CSV file as Parquet in the way named. */
export async function copyCsv(
  connection: DuckDBConnection,
  csv: string,
  target: string,
  variant: string,
): Promise<void> {
  const { select, options } = copyVariants[variant];
  await connection.run(
    `COPY (SELECT ${select} FROM read_csv('${csv}', header = true, ${doubles})) TO '${target}' (FORMAT parquet, ${options})`,
  );
}
