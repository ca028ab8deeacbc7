import type { ChargeStudyResult } from '../../../../server/contract/chargeStudyResult.ts';
import { say } from '../../words/i18n.ts';
import { notesOfCells } from './notesOfCells.ts';

/** What a kept study was asked, with the limits of its worth: a reader a year later needs both. */
export function StudyAsked({ result }: { result: ChargeStudyResult }) {
  return (
    <section aria-label={say('charge.whatWasAsked')}>
      {notesOfCells(result.warnings.map((warning) => warning.message)).map((sentence) => (
        <p key={sentence} className="warning">
          {sentence}
        </p>
      ))}
      {result.asked.length > 0 && <h2>{say('charge.whatWasAsked')}</h2>}
      {result.asked.length > 0 && (
        <dl className="facts">
          {result.asked.map(({ about, text }) => (
            <div key={about}>
              <dt>{about}</dt>
              <dd>{text}</dd>
            </div>
          ))}
        </dl>
      )}
    </section>
  );
}
