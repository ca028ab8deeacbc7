import { Link } from 'react-router';
import type { ChargeStudyInput } from '../../../../server/contract/chargeStudy.ts';
import { useRequest } from '../../api/useRequest.ts';
import { Problem } from '../../parts/Problem.tsx';
import { fieldWords } from '../../words/fields.ts';
import { say } from '../../words/i18n.ts';
import { describeStudy } from './describeStudy.ts';
import { inputsOfStudy, lostOf } from './inputsOfStudy.ts';

/** Says which study a new one begins from, and what of it could not be carried over. */
export function FromStudy({ id, draft }: { readonly id: string; readonly draft: ChargeStudyInput }) {
  const { data, error, again } = useRequest('/charge-studies/{id}', { params: { id } });
  if (data === undefined) return <Problem error={error} again={again} />;
  const lost = lostOf(data.description, describeStudy(draft, inputsOfStudy(data.description), false));
  return (
    <>
      <p>
        {say('charge.beginsFromTheStudy')} <Link to={`/charge-studies/${data.id}`}>{data.name}</Link>
        {say('charge.cellsAsTheyAreFittedNow')}
      </p>
      {lost.length > 0 && (
        <p className="warning">
          {say('charge.notCarriedOver')} <span lang="en">{lost.map(fieldWords).join('; ')}</span>.
        </p>
      )}
    </>
  );
}
