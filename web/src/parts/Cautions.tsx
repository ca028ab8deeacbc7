import { cautionSentences, generalCautions } from '../../../server/contract/cautions.ts';

/** What is said wherever a pair, a rate or a limit is advised, with more where the result asks for it. */
export function Cautions({ also = [] }: { also?: readonly string[] }) {
  const sentences = [...also, ...generalCautions.map((code) => cautionSentences[code])];
  return (
    <aside className="cautions" aria-label="Cautions">
      <h2>Cautions</h2>
      <ul>
        {sentences.map((text) => (
          <li key={text}>{text}</li>
        ))}
      </ul>
    </aside>
  );
}
