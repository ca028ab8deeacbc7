import { cautionSentences, generalCautions } from '../../../server/contract/cautions.ts';
import { say } from '../words/i18n.ts';

interface CautionsProps {
  /** Said first: what the result itself asks for. */
  readonly also?: readonly string[];
  /** All of them in view, as on paper. */
  readonly full?: boolean;
}

/**
 * What is said wherever a pair, a rate or a limit is advised, with more where the result asks for it: one line that opens,
 * so that it stands beside the advice and does not push it off the screen. The first general caution is never folded
 * away, whatever the result adds.
 */
export function Cautions({ also = [], full = false }: CautionsProps) {
  const [first, ...further] = generalCautions;
  const firstGeneral = cautionSentences[first];
  const furtherGeneral = further.map((code) => cautionSentences[code]);
  if (full) {
    return (
      <aside className="cautions" aria-label={say('general.cautions')}>
        <h2>{say('general.cautions')}</h2>
        <Sentences texts={[...also, firstGeneral, ...furtherGeneral]} />
      </aside>
    );
  }
  const inView = [...also.slice(0, 1), firstGeneral];
  const folded = [...also.slice(1), ...furtherGeneral];
  return (
    <aside aria-label={say('general.cautions')}>
      <details className="cautions">
        <summary>
          <strong>{say('general.cautions2')}</strong>{' '}
          {inView.map((text) => (
            <span key={text}>{text} </span>
          ))}
          <span className="more">{say('general.foldedMore', { folded: folded.length })}</span>
        </summary>
        <Sentences texts={folded} />
      </details>
    </aside>
  );
}

function Sentences({ texts }: { readonly texts: readonly string[] }) {
  return (
    <ul>
      {texts.map((text) => (
        <li key={text}>{text}</li>
      ))}
    </ul>
  );
}
