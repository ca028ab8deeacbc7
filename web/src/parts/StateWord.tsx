import { say } from '../words/i18n.ts';
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

interface StateWordProps {
  readonly state: string;
  /** A cell with a warning sign is not to be taken for a sound one where only its state is read. */
  readonly warned?: boolean;
}

export function StateWord({ state, warned = false }: StateWordProps) {
  return (
    <span className="state">
      <span aria-hidden="true">{signs[state] ?? '·'}</span> {plainCode(state)}
      {warned && <strong> ▲ {say('general.warningSign')}</strong>}
    </span>
  );
}
