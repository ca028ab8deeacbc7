import type { ChargeStudyInput } from '../../../../server/contract/chargeStudy.ts';
import type { ChargeStudyResult } from '../../../../server/contract/chargeStudyResult.ts';

/** A stored charge study; `result` is null until its job is done. */
export interface StoredStudy {
  readonly id: number;
  readonly version: number;
  readonly name: string;
  readonly createdAt: string;
  readonly createdBy: string;
  readonly stackId: number | null;
  readonly jobId: number | null;
  readonly description: ChargeStudyInput;
  readonly result: ChargeStudyResult | null;
}

export interface StudyDraft {
  readonly description: ChargeStudyInput;
  readonly notes: readonly { readonly code: string; readonly message: string }[];
}
