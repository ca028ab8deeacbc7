import { Button } from '@mantine/core';
import { useEffect, useState } from 'react';
import { useRouteError } from 'react-router';
import { PageCodeError, reloadOnceServed } from '../app/pageCode.ts';

/** Shown where a page itself fails: what happened and the way out. */
export function PageFailure() {
  const error = useRouteError();
  if (error instanceof PageCodeError) return <PageNotFetched />;
  const reason = error instanceof Error ? error.message : 'An unexpected error occurred.';
  return (
    <section className="failure" role="alert">
      <h1>This page could not be shown</h1>
      <p>{reason}</p>
      <p>Nothing was changed. Load the page again; if that does not help, go to the start page.</p>
      <Button onClick={() => location.reload()}>Load again</Button>{' '}
      <Button component="a" href="/" variant="default">
        To the start page
      </Button>
    </section>
  );
}

/** The server does not send the page, because it has ended or was updated: tries until it does. */
function PageNotFetched() {
  const [tries, setTries] = useState(0);
  useEffect(() => reloadOnceServed(() => setTries((n) => n + 1)), []);
  return (
    <section className="failure" role="alert">
      <h1>This page could not be fetched</h1>
      <p>
        The server does not send it: it has been stopped or updated, or the connection is lost. Nothing was
        changed, and nothing is lost.
      </p>
      <p role="status">Trying again{tries > 0 && ` (${tries + 1} times so far)`}…</p>
      <Button onClick={() => location.reload()}>Load again now</Button>
    </section>
  );
}
