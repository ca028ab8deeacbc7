import { Suspense } from 'react';
import { Outlet, ScrollRestoration, useNavigation } from 'react-router';
import { Waiting } from '../parts/Waiting.tsx';
import { say } from '../words/i18n.ts';
import { Contents } from './Contents.tsx';
import { useKeptFocus } from './useKeptFocus.ts';

/** What surrounds every page: the contents on the left (on a small screen on top), the page beside the margin line. */
export function Shell() {
  const moving = useNavigation().state !== 'idle';
  useKeptFocus();
  return (
    <div className="book">
      <a href="#page" className="skip">
        {say('general.toThePage')}
      </a>
      <header>
        <Contents />
      </header>
      <main id="page" className="page" tabIndex={-1} aria-busy={moving}>
        <Suspense fallback={<Waiting />}>
          <Outlet />
        </Suspense>
      </main>
      <ScrollRestoration />
    </div>
  );
}
