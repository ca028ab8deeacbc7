/** Version written into every chunk; a reader refuses any other. */
export const chunkVersion = 1;
/** Rows packed with one width and one base. */
export const blockRows = 128;
/** Rows of a full chunk; the last one of a record may be shorter. */
export const chunkRows = 65_536;
/** Values of all columns of a record in its unfinished chunks at most. */
const valuesPerChunk = 16 * chunkRows;

/** Rows of a full chunk of a record with so many columns; those with many get shorter chunks. */
export function rowsPerChunk(columnCount: number): number {
  return Math.min(
    chunkRows,
    Math.max(1024, Math.floor(valuesPerChunk / columnCount / blockRows) * blockRows),
  );
}

/** Bytes before the control bytes: version, three zero bytes, row count, length of the control bytes. */
export const headerBytes = 12;

/** Mode byte of a block: low six bits are the width, 63 for raw float64. */
export const rawWidth = 63;
export const widthMask = 63;
/** Values are differences to the value before; else they are offsets from the block's least value. */
export const deltaFlag = 64;
/** An extension byte follows: a new scale in its low five bits, and the two flags below. */
export const extendedFlag = 128;
export const scaleMask = 31;
/** The value before the block is stated again (chunk begins, or the scale changed). */
export const restartFlag = 32;
/** 128 bits follow that say which zeros are negative. */
export const negativeZeroFlag = 64;

/** Decimal places tried, and the powers of ten of them, which are exact in float64. */
export const maxScale = 18;
export const powersOfTen = Float64Array.from({ length: maxScale + 1 }, (_, i) => Number(`1e${i}`));
/** Scaled integers stay below this, so that twice their size and their differences are exact in float64. */
export const maxInteger = 2 ** 51;
