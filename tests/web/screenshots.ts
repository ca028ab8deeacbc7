import { mkdirSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { openBrowser, openPage, type Scheme, type Size, settled } from './pages/browser.ts';
import { doTheJob } from './pages/demonstrationJob.ts';
import { startService } from './pages/service.ts';
import { smallPng } from './smallPng.ts';

/**
 * Makes the pictures in web/screenshots anew from the demonstration: `npx tsx tests/web/screenshots.ts`, after
 * `npm run build`. Names of pages may be given to make only those.
 */
interface Shot {
  readonly name: string;
  /** `{…}` stands for an id of the demonstration. */
  readonly path: string;
  readonly size?: Size;
  readonly scheme?: Scheme;
  readonly locale?: string;
  /** Scrolled to the element with this text. */
  readonly at?: string;
}

const shots: readonly Shot[] = [
  { name: 'start', path: '/' },
  { name: 'lots', path: '/lots' },
  { name: 'lot', path: '/lots/{lot}' },
  { name: 'lot-judgement', path: '/lots/{lot}', at: 'Spread, limits and outliers' },
  { name: 'gauge', path: '/lots/{lot}', at: 'Gauge study of the fixture' },
  { name: 'cells', path: '/cells' },
  { name: 'cell', path: '/cells/{cell}' },
  { name: 'cell-tables', path: '/cells/{cell}', at: 'Over SOC and temperature' },
  { name: 'tests', path: '/tests' },
  { name: 'test', path: '/tests/{test}?pulse=0&window=3900-4800' },
  { name: 'measurement', path: '/measurements/{measurement}' },
  { name: 'import', path: '/import' },
  { name: 'new-pairing', path: '/pairings/new?lots={lot}' },
  { name: 'pairing', path: '/pairings/{pairing}', at: 'Pairs' },
  { name: 'stacks', path: '/stacks' },
  { name: 'stack', path: '/stacks/{stack}' },
  { name: 'ageing', path: '/ageing', at: 'One cell' },
  { name: 'charge-study', path: '/charge-studies/{study}', at: 'If only the stack voltage were watched' },
  { name: 'new-charge-study', path: '/charge-studies/new?stack={stack}' },
  { name: 'measured-charge', path: '/stack-log-evaluations/{evaluation}' },
  { name: 'supply-parts', path: '/supply-parts' },
  { name: 'exports', path: '/exports' },
  { name: 'jobs', path: '/jobs' },
  { name: 'cell-types', path: '/cell-types' },
  {
    name: 'temperature',
    path: '/cell-types?rates=type+{type}',
    at: 'Resistance over temperature of QM-2200P',
  },
  { name: 'interface', path: '/interface' },
  { name: 'pairing-answer', path: '/pairings/{pairing}' },
  { name: 'charge-study-answer', path: '/charge-studies/{study}' },
  { name: 'ageing-answer', path: '/ageing' },
  { name: 'pairing-german', path: '/pairings/{pairing}', locale: 'de-DE' },
  { name: 'lot-dark', path: '/lots/{lot}', scheme: 'dark' },
  { name: 'pairing-phone', path: '/pairings/{pairing}', size: 'phone' },
];

const wanted = process.argv.slice(2);
const folder = fileURLToPath(new URL('../../web/screenshots/', import.meta.url));
mkdirSync(folder, { recursive: true });
const service = await startService({ demonstration: true });
const browser = await openBrowser();
try {
  const ids = await doTheJob(service.address);
  for (const shot of shots.filter((s) => wanted.length === 0 || wanted.includes(s.name))) {
    const { page, context } = await openPage(
      browser,
      service.address,
      shot.size ?? 'desk',
      shot.scheme ?? 'light',
      shot.locale,
    );
    await page.goto(shot.path.replace(/\{(\w+)\}/g, (_, name: string) => String(ids[name])));
    await settled(page);
    if (shot.at !== undefined) {
      await page.getByRole('heading', { name: shot.at, exact: true }).evaluate((e) => e.scrollIntoView());
    }
    writeFileSync(`${folder}${shot.name}.png`, smallPng(await page.screenshot({ scale: 'css' })));
    await context.close();
    console.log(`web/screenshots/${shot.name}.png`);
  }
} finally {
  await browser.close();
  await service.stop();
}
