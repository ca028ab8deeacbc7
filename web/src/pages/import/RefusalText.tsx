import type { RefusalAnswer } from '../../../../server/contract/import.ts';

/** Why a file is refused, where, and what would be right. */
export function RefusalText({ refusal }: { refusal: RefusalAnswer }) {
  return (
    <p className="problem">
      <strong>Refused.</strong> {refusal.row !== null && <>Row {refusal.row}: </>}
      {refusal.column !== null && <>column “{refusal.column}”: </>}
      {refusal.reason}
      {refusal.value !== null && <> (found: {refusal.value})</>}. Expected: {refusal.expected}
    </p>
  );
}
