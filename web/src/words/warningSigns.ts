import type { WarningSign } from '../../../server/contract/lots.ts';

/** Why a cell is never offered for pairing. */
export const signWords: Readonly<Record<WarningSign['code'], string>> = {
  'deep-discharge': 'once discharged far below its cut-off voltage',
  'voltage-drift': 'loses voltage at rest faster than the lot',
  'low-ocv': 'delivered at a voltage below that of the lot',
  'damage-noted': 'damage or misuse is noted with the cell',
  'stack-drift': 'its charge drifts away from that of the other cell in its stack',
};
