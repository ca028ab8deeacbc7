import { mkdirSync, readdirSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { type Bench, type BenchResult, report } from './harness.ts';
import { benchPage } from './page.ts';

const here = new URL('.', import.meta.url);
const available = readdirSync(here)
  .filter((file) => file.endsWith('.bench.ts'))
  .map((file) => file.replace('.bench.ts', ''))
  .sort();

async function main(wanted: readonly string[]): Promise<void> {
  const unknown = wanted.filter((name) => !available.includes(name));
  if (unknown.length > 0) {
    console.error(`No bench named ${unknown.join(', ')}. There are: ${available.join(', ')}`);
    process.exitCode = 2;
    return;
  }
  const results: BenchResult[] = [];
  for (const name of wanted.length > 0 ? wanted : available) {
    const module: { default: Bench } = await import(new URL(`${name}.bench.ts`, here).href);
    const result = await module.default.run();
    console.log(report(result));
    results.push(result);
  }
  const folder = new URL('results/', here);
  mkdirSync(folder, { recursive: true });
  for (const result of results) {
    for (const [file, svg] of Object.entries(result.pictures ?? {}))
      writeFileSync(new URL(file, folder), svg);
  }
  if (wanted.length === 0) writeFileSync(new URL('index.html', folder), benchPage(results));
  if (wanted.length === 0) console.log(`\nPage: ${fileURLToPath(new URL('index.html', folder))}`);
}

await main(process.argv.slice(2).filter((argument) => !argument.startsWith('--')));
