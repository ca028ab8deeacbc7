import { cautionSentences, generalCautions } from '../../../server/contract/cautions.ts';

interface CautionsProps {
  /** Said first: what the result itself asks for. */
  readonly also?: readonly string[];
  /** All of them in view, as on paper. */
  readonly full?: boolean;
}

/**
 * What is said wherever a pair, a rate or a limit is advised, with more where the result asks for it: one line that opens,
 * so that it stands beside the advice and does not push it off the screen.
 */
export function Cautions({ also = [], full = false }: CautionsProps) {
  const sentences = [...also, ...generalCautions.map((code) => cautionSentences[code])];
  const list = (
    <ul>
      {sentences.map((text) => (
        <li key={text}>{text}</li>
      ))}
    </ul>
  );
  if (full) {
    return (
      <aside className="cautions" aria-label="Cautions">
        <h2>Cautions</h2>
        {list}
      </aside>
    );
  }
  return (
    <aside aria-label="Cautions">
      <details className="cautions">
        <summary>
          <strong>Cautions:</strong> {sentences[0]} <span className="more">{sentences.length - 1} more</span>
        </summary>
        {list}
      </details>
    </aside>
  );
}
