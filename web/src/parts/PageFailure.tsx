import { Button } from '@mantine/core';
import { useRouteError } from 'react-router';

/** Shown where a page itself fails: what happened and the way out. */
export function PageFailure() {
  const error = useRouteError();
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
