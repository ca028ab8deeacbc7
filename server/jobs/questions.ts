import { studyCharge } from '../assess/charging/studyCharge.ts';
import type { Actor, Context } from '../context.ts';
import type { ChargeStudyDescription } from '../contract/chargeStudy.ts';
import type { PreviewPairing } from '../contract/pairings.ts';
import type { DatabasePlace } from '../store/store.ts';
import { readImportConsequences } from '../use-cases/imports/readImportConsequences.ts';
import { restoreImport } from '../use-cases/imports/restoreImport.ts';
import { undoImport } from '../use-cases/imports/undoImport.ts';
import { judgeLot } from '../use-cases/lots/judgeLot.ts';
import { collectCells } from '../use-cases/pairing/collectCells.ts';
import { previewPairing } from '../use-cases/pairing/previewPairing.ts';

/** What a request may ask that takes long and is answered at once, not as a job. */
const answers = {
  'study-charge': async (_context: Context, description: ChargeStudyDescription) => studyCharge(description),
  'judge-lot': (context: Context, [lotId, columns, tolerance]: LotQuestion) =>
    judgeLot(context, lotId, columns, tolerance),
  'preview-pairing': (context: Context, request: PreviewPairing) => previewPairing(context, request),
  /** Refuses what could not be paired. */
  'check-pairing': async (context: Context, request: PreviewPairing) => {
    await collectCells(context, request);
  },
  'import-consequences': (context: Context, fileId: number) => readImportConsequences(context, fileId),
  'undo-import': (context: Context, fileId: number) => undoImport(context, fileId),
  'restore-import': (context: Context, fileId: number) => restoreImport(context, fileId),
};

/** What changes something waits for no long computation. */
export const changing: ReadonlySet<QuestionName> = new Set(['undo-import', 'restore-import']);

type LotQuestion = readonly [
  lotId: number,
  columns: Parameters<typeof judgeLot>[2],
  tolerance: Parameters<typeof judgeLot>[3],
];

export type QuestionName = keyof typeof answers;
export type InputOf<Name extends QuestionName> = Parameters<(typeof answers)[Name]>[1];
export type AnswerTo<Name extends QuestionName> = Awaited<ReturnType<(typeof answers)[Name]>>;

/** A question as a worker thread is given it. */
export interface Question<Name extends QuestionName = QuestionName> {
  readonly question: Name;
  readonly input: InputOf<Name>;
  readonly database: DatabasePlace;
  readonly actor: Actor;
  readonly nowMs: number;
}

/** Answers a question by its name. @throws Refusal as the use case behind it */
export function answerQuestion<Name extends QuestionName>(
  context: Context,
  name: Name,
  input: InputOf<Name>,
): Promise<AnswerTo<Name>> {
  const answer = answers[name] as (context: Context, input: InputOf<Name>) => Promise<AnswerTo<Name>>;
  return answer(context, input);
}
