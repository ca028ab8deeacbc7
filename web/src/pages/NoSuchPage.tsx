import { Link } from 'react-router';
import { PageHead } from '../parts/PageHead.tsx';
import { say } from '../words/i18n.ts';

export default function NoSuchPage() {
  return (
    <>
      <PageHead title={say('general.thereIsNoSuchPage')} />
      <p>
        {say('general.theAddressMayBeMistypedOr')} <Link to="/">{say('general.toTheFirstPage')}</Link>.
      </p>
    </>
  );
}
