import { plainCode } from '../words/reasons.ts';

/** A sign beside each state word, so that shape and word show a state, never colour alone. */
const signs: Readonly<Record<string, string>> = {
  available: '○',
  'set-aside': '◇',
  'in-stack': '◎',
  retired: '×',
  planned: '□',
  built: '■',
  proposed: '○',
  accepted: '●',
  rejected: '×',
  waiting: '·',
  running: '▸',
  done: '●',
  failed: '×',
  cancelled: '–',
};

export function StateWord({ state }: { state: string }) {
  return (
    <span className="state">
      <span aria-hidden="true">{signs[state] ?? '·'}</span> {plainCode(state)}
    </span>
  );
}
