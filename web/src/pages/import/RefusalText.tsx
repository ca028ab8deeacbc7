import type { RefusalAnswer } from '../../../../server/contract/import.ts';
import { EnglishWords } from '../../parts/EnglishWords.tsx';
import { say } from '../../words/i18n.ts';
import { language } from '../../words/language.ts';
import { refusalWords } from '../../words/refusals.ts';

/**
 * Why a file is refused, where, and what can be done about it on this page. The service's own sentence says it most
 * exactly; it is English, and its advice may name options of the command line.
 */
export function RefusalText({ refusal }: { refusal: RefusalAnswer }) {
  const { code, row, column, value, reason, expected } = refusal;
  const words = refusalWords(code);
  const english = language === 'en' || words === null;
  return (
    <div className="problem">
      <p>
        <strong>{say('import.refused')}</strong> {row !== null && <>{say('import.rowRow', { row })} </>}
        {column !== null && <>{say('import.columnColumn', { column })} </>}
        {english ? <span lang="en">{reason}</span> : words.what}
        {value !== null && <> {say('import.foundRefusalValue', { refusalValue: value })}</>}
        {words !== null && (!english || expected.includes('--'))
          ? `${english ? '.' : ''} ${words.todo}`
          : say('import.expectedExpected', { expected })}
      </p>
      {!english && <EnglishWords text={`${reason}. ${expected}.`} />}
    </div>
  );
}
