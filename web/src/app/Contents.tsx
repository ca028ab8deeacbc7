import { NativeSelect, useMantineColorScheme } from '@mantine/core';
import { useEffect, useState } from 'react';
import { Link, NavLink, useLocation } from 'react-router';
import { useRequest } from '../api/useRequest.ts';
import { whole } from '../format/number.ts';
import { zoneName } from '../format/time.ts';
import { useUnits } from '../settings/useUnits.ts';
import { say } from '../words/i18n.ts';
import { chooseLanguage, chosenLanguage, languages } from '../words/language.ts';
import { jobSteps } from './steps.ts';

/** The contents of the notebook: the way through the job with what is there and what waits, from every page. */
export function Contents() {
  const { data } = useRequest('/overview', {}, { everyMs: 15_000 });
  const { pathname } = useLocation();
  const [open, setOpen] = useState(false);
  // biome-ignore lint/correctness/useExhaustiveDependencies: a new page closes the contents on a small screen
  useEffect(() => setOpen(false), [pathname]);
  const here = jobSteps.findIndex((s) => pathname.startsWith(s.path));
  return (
    <div className="contents" data-open={open || undefined}>
      <div className="contents-top">
        <Link to="/" className="mark">
          {say('general.gemel')}
        </Link>
        <button
          type="button"
          className="contents-toggle"
          aria-expanded={open}
          aria-controls="contents-list"
          onClick={() => setOpen(!open)}
        >
          {here < 0
            ? say('general.contents')
            : say('general.hereOfJobStepsName', {
                here: here + 1,
                jobSteps: jobSteps.length,
                name: jobSteps[here].name,
              })}{' '}
          <span aria-hidden="true">{open ? '▴' : '▾'}</span>
        </button>
      </div>
      <nav id="contents-list" aria-label={say('general.theWayThroughTheJob')}>
        <NavLink to="/import" className="contents-import">
          {say('general.importFiles')}
        </NavLink>
        <ol>
          {jobSteps.map((step, i) => (
            <li key={step.path}>
              <NavLink to={step.path} className="contents-entry">
                <span className="contents-number">{i + 1}</span>
                <span className="contents-name">{step.name}</span>
                <span className="contents-leader" aria-hidden="true" />
                <span className="contents-count">{data === undefined ? '' : whole(step.count(data))}</span>
              </NavLink>
              {data !== undefined &&
                step.waiting(data).map((w) => (
                  <Link key={w.path} to={w.path} className="contents-waiting">
                    {w.text}
                  </Link>
                ))}
            </li>
          ))}
        </ol>
        <ul className="contents-more">
          <li>
            <NavLink to="/jobs">{say('general.backgroundJobs')}</NavLink>
            {data !== undefined && data.waiting.jobsRunning > 0 && (
              <span> {say('general.jobsRunningRunning', { jobsRunning: data.waiting.jobsRunning })}</span>
            )}
            {data !== undefined && data.waiting.jobsFailed > 0 && (
              <span> {say('general.jobsFailedFailed', { jobsFailed: data.waiting.jobsFailed })}</span>
            )}
          </li>
          <li>
            <NavLink to="/cell-types">{say('general.cellTypesAndChemistries')}</NavLink>
          </li>
          <li>
            <NavLink to="/interface">{say('general.forProgramsHttp')}</NavLink>
          </li>
        </ul>
        <ShownAs />
      </nav>
    </div>
  );
}

/** Units and paper. Only what is shown changes, never the data. */
function ShownAs() {
  const [units, setUnits] = useUnits();
  const { colorScheme, setColorScheme } = useMantineColorScheme();
  return (
    <fieldset className="shown-as">
      <legend>{say('general.display')}</legend>
      <NativeSelect
        size="xs"
        label={say('general.resistance')}
        data={['mΩ', 'Ω']}
        value={units.resistance}
        onChange={(e) => setUnits({ ...units, resistance: e.currentTarget.value === 'Ω' ? 'Ω' : 'mΩ' })}
      />
      <NativeSelect
        size="xs"
        label={say('general.capacity')}
        data={['Ah', 'mAh']}
        value={units.capacity}
        onChange={(e) => setUnits({ ...units, capacity: e.currentTarget.value === 'mAh' ? 'mAh' : 'Ah' })}
      />
      <NativeSelect
        size="xs"
        label={say('general.language')}
        className="shown-paper"
        data={[
          { value: '', label: say('general.asTheBrowser') },
          ...Object.entries(languages).map(([value, label]) => ({ value, label })),
        ]}
        value={chosenLanguage() ?? ''}
        onChange={(e) => {
          const chosen = e.currentTarget.value;
          chooseLanguage(chosen === 'en' || chosen === 'de' ? chosen : null);
        }}
      />
      <NativeSelect
        size="xs"
        label={say('general.theme')}
        className="shown-paper"
        data={[
          { value: 'auto', label: say('general.asTheSystem') },
          { value: 'light', label: say('general.light') },
          { value: 'dark', label: say('general.dark') },
        ]}
        value={colorScheme}
        onChange={(e) => {
          const chosen = e.currentTarget.value;
          setColorScheme(chosen === 'light' || chosen === 'dark' ? chosen : 'auto');
        }}
      />
      <p className="shown-zone">{say('general.timesInZoneName', { zoneName: zoneName() })}</p>
    </fieldset>
  );
}
