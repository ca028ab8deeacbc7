import { NativeSelect, useMantineColorScheme } from '@mantine/core';
import { useEffect, useState } from 'react';
import { Link, NavLink, useLocation } from 'react-router';
import { useRequest } from '../api/useRequest.ts';
import { whole } from '../format/number.ts';
import { zoneName } from '../format/time.ts';
import { useUnits } from '../settings/useUnits.ts';
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
          gemel
        </Link>
        <button
          type="button"
          className="contents-toggle"
          aria-expanded={open}
          aria-controls="contents-list"
          onClick={() => setOpen(!open)}
        >
          {here < 0 ? 'Contents' : `${here + 1} of ${jobSteps.length} · ${jobSteps[here].name}`}{' '}
          <span aria-hidden="true">{open ? '▴' : '▾'}</span>
        </button>
      </div>
      <nav id="contents-list" aria-label="The way through the job">
        <NavLink to="/import" className="contents-import">
          Import files
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
            <NavLink to="/jobs">Background jobs</NavLink>
            {data !== undefined && data.waiting.jobsRunning > 0 && (
              <span> · {data.waiting.jobsRunning} running</span>
            )}
            {data !== undefined && data.waiting.jobsFailed > 0 && (
              <span> · {data.waiting.jobsFailed} failed</span>
            )}
          </li>
          <li>
            <NavLink to="/cell-types">Cell types and chemistries</NavLink>
          </li>
          <li>
            <NavLink to="/interface">For programs (HTTP)</NavLink>
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
      <legend>Display</legend>
      <NativeSelect
        size="xs"
        label="Resistance"
        data={['mΩ', 'Ω']}
        value={units.resistance}
        onChange={(e) => setUnits({ ...units, resistance: e.currentTarget.value === 'Ω' ? 'Ω' : 'mΩ' })}
      />
      <NativeSelect
        size="xs"
        label="Capacity"
        data={['Ah', 'mAh']}
        value={units.capacity}
        onChange={(e) => setUnits({ ...units, capacity: e.currentTarget.value === 'mAh' ? 'mAh' : 'Ah' })}
      />
      <NativeSelect
        size="xs"
        label="Theme"
        className="shown-paper"
        data={[
          { value: 'auto', label: 'as the system' },
          { value: 'light', label: 'light' },
          { value: 'dark', label: 'dark' },
        ]}
        value={colorScheme}
        onChange={(e) => {
          const chosen = e.currentTarget.value;
          setColorScheme(chosen === 'light' || chosen === 'dark' ? chosen : 'auto');
        }}
      />
      <p className="shown-zone">Times in {zoneName()}</p>
    </fieldset>
  );
}
