import type { evaluateAgeingCells } from '../assess/ageing/evaluateAgeingTable.ts';
import type { drawStudy } from '../assess/charging/studyCharge.ts';
import type { countRepeated } from '../assess/pairing/pairCells.ts';
import type { evaluateTests } from '../use-cases/evaluation/evaluateTests.ts';

/** A function that does one piece of some work. */
type Part<Common, One, Answer> = (
  common: Common,
  piece: One,
  isStopped: () => boolean,
) => Answer | Promise<Answer>;

/** What can be shared out among threads, loaded where it is asked for. */
const parts = {
  'charge-draws': async (): Promise<typeof drawStudy> =>
    (await import('../assess/charging/studyCharge.ts')).drawStudy,
  'ageing-cells': async (): Promise<typeof evaluateAgeingCells> =>
    (await import('../assess/ageing/evaluateAgeingTable.ts')).evaluateAgeingCells,
  'pair-repetitions': async (): Promise<typeof countRepeated> =>
    (await import('../assess/pairing/pairCells.ts')).countRepeated,
  'evaluate-tests': async (): Promise<typeof evaluateTests> =>
    (await import('../use-cases/evaluation/evaluateTests.ts')).evaluateTests,
};

type Work<Name extends PartName> = Awaited<ReturnType<(typeof parts)[Name]>>;
export type PartName = keyof typeof parts;
export type CommonOf<Name extends PartName> = Parameters<Work<Name>>[0];
export type PieceOf<Name extends PartName> = Parameters<Work<Name>>[1];
export type AnswerOfPart<Name extends PartName> = Awaited<ReturnType<Work<Name>>>;

/** The function that does the pieces of some work. */
export async function partNamed<Name extends PartName>(
  name: Name,
): Promise<Part<CommonOf<Name>, PieceOf<Name>, AnswerOfPart<Name>>> {
  return (await parts[name]()) as Part<CommonOf<Name>, PieceOf<Name>, AnswerOfPart<Name>>;
}
