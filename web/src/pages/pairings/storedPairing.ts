import type { PairingResult } from '../../../../server/contract/pairing.ts';

export type PairState = 'proposed' | 'accepted' | 'rejected';

/** A pair of a stored pairing with what was decided about it. */
export interface StoredPair {
  readonly id: number;
  readonly cells: readonly { readonly id: number; readonly serial: string }[];
  readonly cost: number;
  readonly state: PairState;
  readonly locked: boolean;
  readonly stackId: number | null;
}

/** A stored pairing run. */
export interface StoredPairing {
  readonly id: number;
  readonly version: number;
  readonly name: string;
  readonly createdAt: string;
  readonly createdBy: string;
  readonly lotIds: readonly number[];
  readonly result: PairingResult;
  readonly pairs: readonly StoredPair[];
}

export interface PairingHead {
  readonly id: number;
  readonly name: string;
  readonly createdAt: string;
  readonly createdBy: string;
  readonly counts: {
    readonly proposed: number;
    readonly accepted: number;
    readonly rejected: number;
    readonly unpaired: number;
  };
  readonly totalCost: number;
  readonly proven: boolean;
}

export interface PairingPreview {
  readonly cells: number;
  readonly offered: number;
  readonly feasiblePairs: number;
  readonly cellsWithPartner: number;
  readonly mostPairs: number | null;
}
