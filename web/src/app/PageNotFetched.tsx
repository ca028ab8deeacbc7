import { Button } from '@mantine/core';
import { useEffect, useState } from 'react';
import { say } from '../words/i18n.ts';
import { reloadOnceServed } from './pageCode.ts';

/** The server does not send the page, because it has ended or was updated: tries until it does. */
export function PageNotFetched() {
  const [tries, setTries] = useState(0);
  useEffect(() => reloadOnceServed(() => setTries((n) => n + 1)), []);
  return (
    <section className="failure" role="alert">
      <h1>{say('general.thisPageCouldNotBeFetched')}</h1>
      <p>{say('general.theServerDoesNotSendIt')}</p>
      <p role="status">
        {say('general.tryingAgain')}
        {tries > 0 && say('general.triesTimesSoFar', { tries: tries + 1 })}…
      </p>
      <Button onClick={() => location.reload()}>{say('general.loadAgainNow')}</Button>
    </section>
  );
}
