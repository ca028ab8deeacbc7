import { createBrowserRouter, type RouteObject } from 'react-router';
import { PageFailure } from '../parts/PageFailure.tsx';
import { Waiting } from '../parts/Waiting.tsx';
import { PageNotFetched } from './PageNotFetched.tsx';
import { fetchPageCode } from './pageCode.ts';
import { Shell } from './Shell.tsx';

type PageModule = { default: React.ComponentType };

/** A page of its own file, fetched when it is first opened. */
function page(path: string, load: () => Promise<PageModule>): RouteObject {
  return {
    path,
    lazy: async () => {
      try {
        return { Component: (await fetchPageCode(load)).default };
      } catch {
        // The router shows nothing at all where this fails, so that a page that says so takes the place.
        return { Component: PageNotFetched };
      }
    },
    errorElement: <PageFailure />,
  };
}

export const router = createBrowserRouter([
  {
    path: '/',
    element: <Shell />,
    errorElement: <PageFailure />,
    hydrateFallbackElement: <Waiting />,
    children: [
      page('', () => import('../pages/StartPage.tsx')),
      page('lots', () => import('../pages/lots/LotsPage.tsx')),
      page('lots/:id', () => import('../pages/lots/LotPage.tsx')),
      page('lots/:id/report', () => import('../pages/report/LotReport.tsx')),
      page('cells', () => import('../pages/cells/CellsPage.tsx')),
      page('cells/:id', () => import('../pages/cells/CellPage.tsx')),
      page('tests', () => import('../pages/test/TestsPage.tsx')),
      page('tests/:id', () => import('../pages/test/TestPage.tsx')),
      page('measurements/:id', () => import('../pages/measurements/MeasurementPage.tsx')),
      page('pairings', () => import('../pages/pairings/PairingsPage.tsx')),
      page('pairings/new', () => import('../pages/pairings/NewPairingPage.tsx')),
      page('pairings/:id', () => import('../pages/pairings/PairingPage.tsx')),
      page('pairings/:id/report', () => import('../pages/report/PairingReport.tsx')),
      page('stacks', () => import('../pages/stacks/StacksPage.tsx')),
      page('stacks/:id', () => import('../pages/stacks/StackPage.tsx')),
      page('stack-logs/:id', () => import('../pages/stack-logs/StackLogPage.tsx')),
      page('stack-log-evaluations/:id', () => import('../pages/stack-logs/EvaluationPage.tsx')),
      page('stack-log-evaluations/:id/report', () => import('../pages/report/LogReport.tsx')),
      page('ageing', () => import('../pages/ageing/AgeingPage.tsx')),
      page('charge-studies', () => import('../pages/charge/ChargeStudiesPage.tsx')),
      page('charge-studies/new', () => import('../pages/charge/NewChargeStudyPage.tsx')),
      page('charge-studies/compare', () => import('../pages/charge/CompareChargeStudiesPage.tsx')),
      page('charge-studies/:id', () => import('../pages/charge/ChargeStudyPage.tsx')),
      page('charge-studies/:id/report', () => import('../pages/report/StudyReport.tsx')),
      page('supply-parts', () => import('../pages/supply-parts/SupplyPartsPage.tsx')),
      page('exports', () => import('../pages/exports/ExportsPage.tsx')),
      page('import', () => import('../pages/import/ImportPage.tsx')),
      page('jobs', () => import('../pages/jobs/JobsPage.tsx')),
      page('cell-types', () => import('../pages/cellTypes/CellTypesPage.tsx')),
      page('interface', () => import('../pages/InterfacePage.tsx')),
      page('*', () => import('../pages/NoSuchPage.tsx')),
    ],
  },
]);
