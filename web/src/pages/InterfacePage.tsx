import { PageHead } from '../parts/PageHead.tsx';

/** Where programs find the same things as the pages. */
export default function InterfacePage() {
  return (
    <>
      <PageHead
        title="For programs"
        about="Everything on these pages can be done over HTTP and by command as well; all three call the same code."
      />
      <h2>HTTP</h2>
      <p>
        All addresses begin with <code>/api/v1</code>. The whole interface can be{' '}
        <a href="/api/docs">read as a page</a> and is described as OpenAPI 3.1:{' '}
        <a href="/api/v1/openapi.json">openapi.json</a>. Refusals are problem details (RFC 9457) with a stable
        code, and name the field or row.
      </p>
      <ul>
        <li>
          A change of a stored thing sends <code>If-Match</code> with the version that was read.
        </li>
        <li>
          A request that creates something may carry an <code>Idempotency-Key</code>: repeated, it does its
          work once.
        </li>
        <li>
          Long work answers with a job; <code>/api/v1/jobs/ID/events</code> tells its progress as server-sent
          events.
        </li>
      </ul>
      <h2>Command</h2>
      <p>
        <code>npm run --silent gemel -- --help</code> lists the commands. With <code>--json</code> each prints
        a document for machines. Evaluating, pairing and computing a charge from files needs neither database
        nor server.
      </p>
      <h2>Numbers in both</h2>
      <p>
        The unit is in the name (<code>currentA</code>, <code>resistanceOhm</code>), current is positive on
        charge, a state of charge is 0 to 1, and a missing number is <code>null</code> with a reason beside
        it.
      </p>
    </>
  );
}
