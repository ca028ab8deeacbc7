/** What is said wherever a pair, a rate or a limit is advised. */
const general = [
  'Watch the voltage of each cell, never only that of the stack.',
  'The maker’s datasheet outranks every default and every computed figure here.',
  'Do not charge or test unattended without independent protection.',
  'Follow local codes, and have a qualified person decide.',
];

/** The cautions, with more of them where the result asks for it. */
export function Cautions({ also = [] }: { also?: readonly string[] }) {
  return (
    <aside className="cautions" aria-label="Cautions">
      <h2>Lithium cells can burn</h2>
      <ul>
        {[...also, ...general].map((text) => (
          <li key={text}>{text}</li>
        ))}
      </ul>
    </aside>
  );
}
