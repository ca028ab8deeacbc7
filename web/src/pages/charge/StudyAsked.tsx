import type { ChargeStudyResult } from '../../../../server/contract/chargeStudyResult.ts';
import { askedHeading } from '../../words/asked.ts';
import { say } from '../../words/i18n.ts';
import { notesOfCells } from './notesOfCells.ts';

/** What a kept study was asked: a reader a year later needs it. */
export function StudyAsked({ result: { asked } }: { result: ChargeStudyResult }) {
  if (asked.length === 0) return null;
  return (
    <section aria-label={say('charge.whatWasAsked')}>
      <h2>{say('charge.whatWasAsked')}</h2>
      <dl className="facts asked">
        {asked.map(({ about, text }) => (
          <div key={about}>
            <dt>{askedHeading(about)}</dt>
            <dd lang="en">{text}</dd>
          </div>
        ))}
      </dl>
    </section>
  );
}

interface StudyNotesProps {
  readonly result: ChargeStudyResult;
  /** All of them in view, as on paper. */
  readonly full: boolean;
}

/** What the result is based on and what limits its validity: one line that opens. */
export function StudyNotes({ result, full }: StudyNotesProps) {
  const notes = notesOfCells(result.warnings.map((warning) => warning.message));
  if (notes.length === 0) return null;
  const list = notes.map((sentence) => (
    <p key={sentence} className="warning" lang="en">
      {sentence}
    </p>
  ));
  if (full) return <section aria-label={say('charge.whatThisRestsOn')}>{list}</section>;
  return (
    <details>
      <summary>{say('charge.whatThisRestsOnNotes', { notes: notes.length })}</summary>
      {list}
    </details>
  );
}
