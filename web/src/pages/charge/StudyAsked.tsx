import type { ChargeStudyResult } from '../../../../server/contract/chargeStudyResult.ts';
import { EnglishWords } from '../../parts/EnglishWords.tsx';
import { Said } from '../../parts/Said.tsx';
import { askedHeading } from '../../words/asked.ts';
import { say } from '../../words/i18n.ts';
import { type NoteWords, noteWords } from '../../words/studyNotes.ts';

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
            <dd>
              <Said text={text} />
            </dd>
          </div>
        ))}
      </dl>
    </section>
  );
}

/** One note; its exact words, which are English, open where the page is in another language. */
export function StudyNote({ note: { text, exact } }: { note: NoteWords }) {
  return (
    <div className="warning">
      <p>{text}</p>
      {exact !== null && <EnglishWords text={exact} />}
    </div>
  );
}

interface StudyNotesProps {
  readonly result: ChargeStudyResult;
  /** All of them in view, as on paper. */
  readonly full: boolean;
}

/** What the result is based on and what limits its validity: one line that opens. */
export function StudyNotes({ result, full }: StudyNotesProps) {
  const notes = noteWords(result.warnings);
  if (notes.length === 0) return null;
  const list = notes.map((note) => <StudyNote key={note.text} note={note} />);
  if (full) return <section aria-label={say('charge.whatThisRestsOn')}>{list}</section>;
  return (
    <details>
      <summary>{say('charge.whatThisRestsOnNotes', { notes: notes.length })}</summary>
      {list}
    </details>
  );
}
