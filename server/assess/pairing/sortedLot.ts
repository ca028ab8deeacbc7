import type { LotFeature } from '../../../fitting/pairing/index.ts';
import type { PairingCriteria } from '../../contract/pairingCriteria.ts';
import type { UnpairedCell } from '../../contract/pairingResult.ts';
import type { CellToPair } from './cellToPair.ts';
import type { ResolvedFeature } from './pairingFeatures.ts';

/** The cells of a run, divided into those that are paired, locked together, and out. */
export interface SortedLot {
  readonly criteria: PairingCriteria;
  readonly features: readonly ResolvedFeature[];
  readonly offered: readonly CellToPair[];
  readonly locked: readonly (readonly [CellToPair, CellToPair])[];
  readonly out: readonly UnpairedCell[];
  /** The offered cells as numbers. */
  readonly numbers: readonly LotFeature[];
  readonly apart: readonly (readonly [number, number])[];
}
