import { Button } from '@mantine/core';
import { useRouteError } from 'react-router';

/** Shown where a page itself fails: what happened and the way out. */
export function PageFailure() {
  const error = useRouteError();
  const reason = error instanceof Error ? error.message : 'Something unforeseen happened.';
  return (
    <section className="failure" role="alert">
      <h1>This page could not be shown</h1>
      <p>{reason}</p>
      <p>Nothing was changed. Load the page again; where that does not help, begin from the first page.</p>
      <Button onClick={() => location.reload()}>Load again</Button>{' '}
      <Button component="a" href="/" variant="default">
        To the first page
      </Button>
    </section>
  );
}
