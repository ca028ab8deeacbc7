import { Button } from '@mantine/core';
import { Link } from 'react-router';
import { useRequest } from '../api/useRequest.ts';
import { jobSteps } from '../app/steps.ts';
import { whole } from '../format/number.ts';
import { PageHead } from '../parts/PageHead.tsx';
import { Problem } from '../parts/Problem.tsx';
import { Waiting } from '../parts/Waiting.tsx';

/** What each station is for, in the words of somebody who does it for the first time. */
const purposes: Readonly<Record<string, string>> = {
  '/lots':
    'One delivery of one cell type. How much do its cells differ, which are outliers, does it meet its specification?',
  '/cells': 'One physical piece with a serial: everything measured on it and everything that happened to it.',
  '/tests':
    'One run on one cell. The record, its steps, the fit over it, and the parameters with their uncertainty.',
  '/pairings':
    'Which two cells go together, within which tolerances, and proof that no other pairing is better.',
  '/stacks': 'What was built from the accepted pairs, with labels and travellers to print.',
  '/ageing': 'Capacity fade and resistance rise over life, and when a limit will be reached.',
  '/charge-studies': 'How fast a cell or a stack may be charged, which limit binds, and when.',
  '/exports': 'Fitted parameters for circuit simulators, firmware, spreadsheets and notebooks.',
};

export default function StartPage() {
  const { data, error, loading, again } = useRequest('/overview');
  if (loading) return <Waiting />;
  if (data === undefined) return <Problem error={error} again={again} />;
  const empty = data.counts.cells === 0;
  return (
    <>
      <PageHead
        title={empty ? 'Begin with your files' : 'The way through the job'}
        about="From the records of your tester to cells that belong together, and to how fast they may be charged."
        actions={
          <Button component={Link} to="/import">
            Import files
          </Button>
        }
      />
      {empty && (
        <p>
          Drop your tester’s CSV files on the import page: records, tables of cells, cycles, steps or
          impedance. The columns are recognised, you look at a preview, and the cells and tests appear here.
          The column on the left (on a small screen: Contents) then leads from one station to the next.
        </p>
      )}
      <ol className="stations">
        {jobSteps.map((step) => (
          <li key={step.path}>
            <h2>
              <Link to={step.path}>{step.name}</Link>{' '}
              <span className="station-count">{whole(step.count(data))}</span>
            </h2>
            <p>{purposes[step.path]}</p>
            {step.waiting(data).map((w) => (
              <p key={w.path} className="warning">
                <Link to={w.path}>{w.text}</Link>
              </p>
            ))}
          </li>
        ))}
      </ol>
    </>
  );
}
