import { Button } from '@mantine/core';
import { useRouteError } from 'react-router';
import { say } from '../words/i18n.ts';

/** Shown where a page itself fails: what happened and the way out. */
export function PageFailure() {
  const error = useRouteError();
  const reason = error instanceof Error ? error.message : say('general.anUnexpectedErrorOccurred');
  return (
    <section className="failure" role="alert">
      <h1>{say('general.thisPageCouldNotBeShown')}</h1>
      <p>{reason}</p>
      <p>{say('general.nothingWasChangedLoadThePage')}</p>
      <Button onClick={() => location.reload()}>{say('general.loadAgain')}</Button>{' '}
      <Button component="a" href="/" variant="default">
        {say('general.toTheStartPage')}
      </Button>
    </section>
  );
}
