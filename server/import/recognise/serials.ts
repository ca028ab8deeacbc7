const serial =
  'cell|cell (id|serial|name|no|number|code|s n|sn|serial number|serial no)|serial|serial (number|no)|s n|sn|' +
  'bar ?code|qr ?code|qr|data ?matrix( code)?|battery|battery id|battery (s n|sn|serial number)';

/** Headers, as `nameColumns` has them, of a column that says which cell a row is of. */
export const serialNames = new RegExp(`^(${serial})$`);
/** In a table with a row for each cell a plain id or name can be nothing else. */
export const serialNamesOfTable = new RegExp(`^(${serial}|id|name|code|number|no)$`);
/** In measured samples the instrument's channel identifies the cell where nothing else does. */
export const serialOrChannelNames = new RegExp(`^(${serial}|channel|channel no|chan)$`);

/** A running number gives way to a serial proper where a table has both. */
export const countsCells = /^(cell (no|number)|no|number|id)$/;
