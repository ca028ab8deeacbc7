import { studyCharge } from '../assess/charging/studyCharge.ts';
import type { Context } from '../context.ts';
import type { ChargeStudyDescription } from '../contract/chargeStudy.ts';
import type { PreviewPairing } from '../contract/pairings.ts';
import type { DatabasePlace } from '../store/store.ts';
import { judgeLot } from '../use-cases/lots/judgeLot.ts';
import { previewPairing } from '../use-cases/pairing/previewPairing.ts';

/** What a request may ask that takes long to compute and is answered at once, not as a job. Nothing is stored. */
const answers = {
  'study-charge': async (_context: Context, description: ChargeStudyDescription) => studyCharge(description),
  'judge-lot': (context: Context, [lotId, columns, tolerance]: LotQuestion) =>
    judgeLot(context, lotId, columns, tolerance),
  'preview-pairing': (context: Context, request: PreviewPairing) => previewPairing(context, request),
};

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
