import { Button } from '@mantine/core';
import { useEffect, useState } from 'react';
import { reloadOnceServed } from './pageCode.ts';

/** The server does not send the page, because it has ended or was updated: tries until it does. */
export function PageNotFetched() {
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
