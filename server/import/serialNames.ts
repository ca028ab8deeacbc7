const serial = 'cell|cell (id|serial|name|no|number)|serial|serial (number|no)|sn|barcode|battery|battery id';

/** Headers, as `nameColumns` has them, of a column that says which cell a row is of. */
export const serialNames = new RegExp(`^(${serial})$`);
/** In a table with a row for each cell a plain id or name can be nothing else. */
export const serialNamesOfTable = new RegExp(`^(${serial}|id|name)$`);
/** In measured samples the instrument's channel stands for the cell where nothing else does. */
export const serialOrChannelNames = new RegExp(`^(${serial}|channel|channel no|chan)$`);
