import { Button } from '@mantine/core';
import { Link } from 'react-router';
import { useRequest } from '../api/useRequest.ts';
import { jobSteps } from '../app/steps.ts';
import { whole } from '../format/number.ts';
import { instant } from '../format/time.ts';
import { PageHead } from '../parts/PageHead.tsx';
import { Problem } from '../parts/Problem.tsx';
import { SerialSearch } from '../parts/SerialSearch.tsx';
import { Waiting } from '../parts/Waiting.tsx';
import { importWords } from '../words/imports.ts';

/** What each station is for, in the words of somebody who does it for the first time. */
const purposes: Readonly<Record<string, string>> = {
  '/lots': 'One delivery of one cell type: spread, outliers, specification.',
  '/cells': 'One piece with a serial: what was measured on it, and what happened to it.',
  '/tests': 'One run on one cell: its record, the fit over it, parameters with their uncertainty.',
  '/pairings': 'Which two cells go together, with proof that no other pairing is better.',
  '/stacks': 'What was built from the accepted pairs, with labels and travellers to print.',
  '/ageing': 'Capacity fade and resistance rise over life, and when a limit will be reached.',
  '/charge-studies': 'How fast a cell or a stack may be charged, and which limit applies when.',
  '/exports': 'Fitted parameters for circuit simulators, firmware, spreadsheets and notebooks.',
};

export default function StartPage() {
  const { data, error, loading, again } = useRequest('/overview');
  if (loading) return <Waiting />;
  if (data === undefined) return <Problem error={error} again={again} />;
  const empty = data.counts.cells === 0;
  const { jobsFailed, jobsRunning } = data.waiting;
  const waiting = jobSteps.flatMap((step) => step.waiting(data).map((w) => ({ ...w, step: step.name })));
  const busy = waiting.length > 0 || jobsFailed > 0 || jobsRunning > 0;
  return (
    <>
      <PageHead
        title={empty ? 'Start with your files' : 'What waits, and what came last'}
        actions={
          <Button component={Link} to="/import">
            Import files
          </Button>
        }
      />
      {empty ? (
        <FirstSteps />
      ) : (
        <>
          <p className="answer">
            {waiting.length === 0
              ? 'Nothing waits to be done.'
              : `${waiting.length === 1 ? 'One thing waits' : `${waiting.length} things wait`} to be done.`}
          </p>
          <div className="start-columns">
            {busy && (
              <section aria-labelledby="waits">
                <h2 id="waits">Waiting</h2>
                <ul className="start-list">
                  {waiting.map((w) => (
                    <li key={w.path}>
                      {w.step}: <Link to={w.path}>{w.text}</Link>
                    </li>
                  ))}
                  {jobsFailed > 0 && (
                    <li>
                      Background jobs: <Link to="/jobs?state=failed">{jobsFailed} failed</Link>
                    </li>
                  )}
                  {jobsRunning > 0 && (
                    <li>
                      Background jobs: <Link to="/jobs">{jobsRunning} running</Link>
                    </li>
                  )}
                </ul>
              </section>
            )}
            <LastImports />
            <section aria-labelledby="find">
              <h2 id="find">Find a cell</h2>
              <SerialSearch />
            </section>
          </div>
        </>
      )}
      <h2>The way through the job</h2>
      <ol className="stations">
        {jobSteps.map((step) => (
          <li key={step.path}>
            <h3>
              <Link to={step.path}>{step.name}</Link>{' '}
              <span className="station-count">{whole(step.count(data))}</span>
            </h3>
            <p>{purposes[step.path]}</p>
          </li>
        ))}
      </ol>
    </>
  );
}

function LastImports() {
  const { data } = useRequest('/imports', { query: { limit: 5 } });
  if (data === undefined || data.items.length === 0) return null;
  return (
    <section aria-labelledby="last">
      <h2 id="last">Last files</h2>
      <ul className="start-list">
        {data.items.map((i) => (
          <li key={`${i.sourceFileId} ${i.importedAt}`}>
            <Link to="/import">{i.fileName}</Link>: {importWords[i.state]}, {instant(i.importedAt)}
          </li>
        ))}
      </ul>
    </section>
  );
}

function FirstSteps() {
  return (
    <>
      <p className="answer">
        From the records of your tester to cells that belong together, and to how fast they may be charged.
      </p>
      <ol>
        <li>
          <Link to="/import">Import your own files</Link>: records, tables of cells, cycles, steps or
          impedance, as text, spreadsheet or Parquet. You see how they are read before anything is stored.
        </li>
        <li>
          <Link to="/import?samples=open">Try a sample file of each kind</Link>, with the headers that are
          recognised.
        </li>
        <li>
          Look at the demonstration: end the service, then run <code>npm start</code>. It loads an invented
          lot of 48 cells, from records to stacks, in a database that is still empty.
        </li>
      </ol>
    </>
  );
}
