import type { RefusalAnswer } from '../../../../server/contract/import.ts';
import { say } from '../../words/i18n.ts';

/** Why a file is refused, where, and what would be right. */
export function RefusalText({ refusal }: { refusal: RefusalAnswer }) {
  return (
    <p className="problem">
      <strong>{say('import.refused')}</strong>{' '}
      {refusal.row !== null && <>{say('import.rowRow', { row: refusal.row })} </>}
      {refusal.column !== null && <>{say('import.columnColumn', { column: refusal.column })} </>}
      {refusal.reason}
      {refusal.value !== null && <> {say('import.foundRefusalvalue', { refusalValue: refusal.value })}</>}
      {say('import.expectedExpected', { expected: refusal.expected })}
    </p>
  );
}
