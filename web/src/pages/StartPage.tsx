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
import { say } from '../words/i18n.ts';
import { importWords } from '../words/imports.ts';

/** What each station is for, in the words of somebody who does it for the first time. */
const purposes: Readonly<Record<string, string>> = {
  '/lots': say('general.oneDeliveryOfOneCellType'),
  '/cells': say('general.onePieceWithASerialWhat'),
  '/tests': say('general.oneRunOnOneCellIts'),
  '/pairings': say('general.whichTwoCellsGoTogetherWith'),
  '/stacks': say('general.whatWasBuiltFromTheAccepted'),
  '/ageing': say('general.capacityFadeAndResistanceRiseOver'),
  '/charge-studies': say('general.howFastACellOrA'),
  '/exports': say('general.fittedParametersForCircuitSimulatorsFirmware'),
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
        title={empty ? say('general.startWithYourFiles') : say('general.whatWaitsAndWhatCameLast')}
        actions={
          <Button component={Link} to="/import">
            {say('general.importFiles')}
          </Button>
        }
      />
      {empty ? (
        <FirstSteps />
      ) : (
        <>
          <p className="answer">
            {waiting.length === 0
              ? say('general.nothingWaitsToBeDone')
              : say('general.waitingToBeDone', {
                  waiting:
                    waiting.length === 1
                      ? say('general.oneThingWaits')
                      : say('general.waitingThingsWait', { waiting: waiting.length }),
                })}
          </p>
          <div className="start-columns">
            {busy && (
              <section aria-labelledby="waits">
                <h2 id="waits">{say('general.waiting')}</h2>
                <ul className="start-list">
                  {waiting.map((w) => (
                    <li key={w.path}>
                      {w.step}: <Link to={w.path}>{w.text}</Link>
                    </li>
                  ))}
                  {jobsFailed > 0 && (
                    <li>
                      {say('general.backgroundJobs2')}{' '}
                      <Link to="/jobs?state=failed">{say('general.jobsFailedFailed2', { jobsFailed })}</Link>
                    </li>
                  )}
                  {jobsRunning > 0 && (
                    <li>
                      {say('general.backgroundJobs2')}{' '}
                      <Link to="/jobs">{say('general.jobsRunningRunning2', { jobsRunning })}</Link>
                    </li>
                  )}
                </ul>
              </section>
            )}
            <LastImports />
            <section aria-labelledby="find">
              <h2 id="find">{say('general.findACell')}</h2>
              <SerialSearch />
            </section>
          </div>
        </>
      )}
      <h2>{say('general.theWayThroughTheJob')}</h2>
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
      <h2 id="last">{say('general.lastFiles')}</h2>
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
      <p className="answer">{say('general.fromTheRecordsOfYourTester')}</p>
      <ol>
        <li>
          <Link to="/import">{say('general.importYourOwnFiles')}</Link>
          {say('general.recordsTablesOfCellsCyclesSteps')}
        </li>
        <li>
          <Link to="/import?samples=open">{say('general.tryASampleFileOfEach')}</Link>
          {say('general.withTheHeadersThatAreRecognised')}
        </li>
        <li>
          {say('general.lookAtTheDemonstrationEndThe')} <code>{say('general.npmStart')}</code>
          {say('general.itLoadsAnInventedLotOf')}
        </li>
      </ol>
    </>
  );
}
