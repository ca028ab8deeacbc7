import { z } from 'zod';
import { chargeStudyResult } from './chargeStudyResult.ts';
import { givenName, id, instant, pageOf, pageQuery } from './common.ts';
import { pairingCriteria } from './pairingCriteria.ts';
import { proposedPair } from './pairingProposal.ts';
import { pairingResult } from './pairingResult.ts';

/** proposed: by the optimiser; accepted or rejected by a person; built: its stack is built. */
export const pairState = z.enum(['proposed', 'accepted', 'rejected', 'built']);

/** Cells of one run at most, however they are named. */
export const mostCellsToPair = 20_000;

/**
 * Which cells are to be paired: the available cells of lots of one cell type, or only some of them. A feature's
 * `column` is the key of a lot's column, e.g. `resistance/10s/discharge/soc50`; null takes the usual one.
 */
const cellsAndCriteria = z.object({
  lotIds: z.array(id).max(50).default([]),
  cellIds: z.array(id).max(mostCellsToPair).default([]),
  criteria: pairingCriteria,
});
export const createPairing = cellsAndCriteria.extend({ name: givenName.optional() });
export const previewPairing = cellsAndCriteria;

/** What criteria would allow, before anything is paired. */
export const pairingPreview = z.object({
  /** Cells in series that were asked for. */
  cellsPerStack: z.int(),
  cells: z.int(),
  offered: z.int(),
  feasiblePairs: z.int(),
  cellsWithPartner: z.int(),
  /** Most pairs at once, as proven; of more than two cells in series: there cannot be more groups than this. */
  mostPairs: z.int().nullable(),
});

/** A pair of a stored run, or a group of more cells in series, with what was decided about it. */
export const storedPair = z.object({
  id,
  version: z.int(),
  pairingId: id,
  position: z.int(),
  cells: z.array(z.object({ id, serial: z.string() })).min(2),
  cost: z.number(),
  state: pairState,
  /** Why it was rejected. */
  reason: z.string().nullable(),
  locked: z.boolean(),
  /** True where a person exchanged partners, so that the proof no longer covers it. */
  exchanged: z.boolean(),
  stackId: id.nullable(),
  /** As computed for the cells it has now. */
  detail: proposedPair,
});

/** A stored run: the result as it was computed, and the pairs as they stand. */
export const storedPairing = z.object({
  id,
  /** Counted up by every decision about one of its pairs. */
  version: z.int(),
  name: z.string(),
  createdAt: instant,
  createdBy: z.string(),
  lotIds: z.array(id),
  result: pairingResult,
  pairs: z.array(storedPair),
  /** The measurement that each value of each cell is, in the order of the features; null where there is none. */
  inputs: z.array(z.object({ cell: z.string(), cellId: id, measurementIds: z.array(id.nullable()) })),
  /** Cells of which a value that was compared no longer holds, so that the proof no longer covers them. */
  changedSince: z.array(
    z.object({
      cell: z.string(),
      cellId: id,
      reason: z.enum(['import-undone', 'evaluated-again', 'left-out']),
    }),
  ),
});

export const pairingHead = z.object({
  id,
  name: z.string(),
  lotId: id,
  lotName: z.string(),
  createdAt: instant,
  createdBy: z.string(),
  counts: z.object({
    proposed: z.int(),
    accepted: z.int(),
    rejected: z.int(),
    built: z.int(),
    unpaired: z.int(),
  }),
  totalCost: z.number(),
  proven: z.boolean(),
});
export const pairingQuery = pageQuery.extend({ lotId: z.coerce.number().int().positive().optional() });
export const pairingPage = pageOf(pairingHead);

/** A decision about a pair; `proposed` takes an earlier one back. */
export const changePair = z.object({
  state: z.enum(['proposed', 'accepted', 'rejected']),
  reason: z.string().max(400).nullable().default(null),
});

/** How a pair would charge, simulated from the fitted parameters of its cells, the limits of each watched. */
export const pairCharge = z.object({
  pairId: id,
  /** Current of the one constant-current stage: the planned one of the run, else 1 C or the rating. */
  chargeCurrentA: z.number(),
  /** Serial of the cell that is held at its voltage limit first; null where none is. */
  limitsCharge: z.string().nullable(),
  /** `stackOnly` is the same charge if only the stack's voltage were watched: never do that. */
  result: chargeStudyResult,
  notes: z.array(z.object({ code: z.string(), message: z.string() })),
});

/** Exchanges a cell of one pair with a cell of another pair of the same run; null: the last cell of the pair. */
export const swapPairs = z.object({
  pairId: id,
  withPairId: id,
  cellId: id.nullable().default(null),
  withCellId: id.nullable().default(null),
});

export type PairState = z.infer<typeof pairState>;
export type StoredPair = z.infer<typeof storedPair>;
export type StoredPairing = z.infer<typeof storedPairing>;
export type PairingHead = z.infer<typeof pairingHead>;
export type CreatePairing = z.infer<typeof createPairing>;
export type PreviewPairing = z.infer<typeof previewPairing>;
export type PairingPreview = z.infer<typeof pairingPreview>;
export type PairCharge = z.infer<typeof pairCharge>;
export type SwapPairs = z.infer<typeof swapPairs>;
export type ChangePair = z.infer<typeof changePair>;
