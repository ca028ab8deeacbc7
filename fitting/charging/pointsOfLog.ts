/** Columns of a measured charge through a converter, of equal length. */
export interface ConverterColumns {
  readonly outputVoltageV: Float64Array;
  readonly outputCurrentA: Float64Array;
  readonly inputVoltageV: Float64Array;
  readonly inputCurrentA: Float64Array;
  readonly temperatureC: Float64Array | null;
}

/** The mean of rows at nearly one output current. */
export interface PointOfLog {
  readonly outputVoltageV: number;
  readonly outputCurrentA: number;
  readonly inputVoltageV: number;
  readonly inputCurrentA: number;
  readonly temperatureC: number | null;
  readonly rows: number;
}

/** The range of the output current is divided into this many equal parts, and each with enough rows gives a point. */
const PARTS = 12;
const LEAST_ROWS = 10;
/** Rows whose current is below this share of the largest, or differs by it from a row beside them, are left out. */
const SHARE = 0.02;

/**
 * Operating points of a converter from the log of a charge: means of the rows at nearly one output current. The equations of a
 * fixed ratio, V_in = N (V + R I) and I_in = I / N + I_f, are linear in all of them, so the mean of rows satisfies them as each row does.
 *
 * @returns ascending in output current; empty where no current flows
 */
export function pointsOfLog(columns: ConverterColumns): PointOfLog[] {
  const { outputCurrentA: current, inputCurrentA } = columns;
  const largest = current.reduce((most, value) => Math.max(most, value), 0);
  const rows: number[] = [];
  for (let row = 1; row + 1 < current.length; row++) {
    const steady = [row - 1, row + 1].every(
      (beside) => Math.abs(current[row] - current[beside]) <= SHARE * largest,
    );
    if (steady && current[row] > SHARE * largest && inputCurrentA[row] > 0) rows.push(row);
  }
  const least = rows.reduce((low, row) => Math.min(low, current[row]), largest);
  const parts = Array.from({ length: PARTS }, (): number[] => []);
  for (const row of rows)
    parts[Math.min(PARTS - 1, Math.floor((PARTS * (current[row] - least)) / (largest - least || 1)))].push(
      row,
    );
  return parts
    .filter((part) => part.length >= LEAST_ROWS)
    .map((part) => {
      const mean = (values: Float64Array): number =>
        part.reduce((sum, row) => sum + values[row], 0) / part.length;
      return {
        outputVoltageV: mean(columns.outputVoltageV),
        outputCurrentA: mean(current),
        inputVoltageV: mean(columns.inputVoltageV),
        inputCurrentA: mean(inputCurrentA),
        temperatureC: columns.temperatureC === null ? null : mean(columns.temperatureC),
        rows: part.length,
      };
    });
}
