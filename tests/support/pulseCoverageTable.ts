import type { CoverageCount, ScenarioCoverage } from './pulseCoverage.ts';
import type { PulseScenario } from './pulseScenarios.ts';

/** Shares of 95 % intervals that hold the truth must lie between these. */
export const LEAST = 0.92;
export const MOST = 0.98;
/** Counts below this are too few to tell 92 from 95 %. */
export const FEWEST = 100;

interface Counted {
  readonly scenario: PulseScenario;
  readonly coverage: ScenarioCoverage;
}

/** Whether most of a quantity's values hold only under the edge's moment or the OCV slope, which the record does not tell. */
export function isConditional({ reported, conditional }: CoverageCount): boolean {
  return 2 * conditional > reported;
}

/** Quantities of a scenario whose intervals hold too rarely or too often, with the share. */
export function outsideOf(scenario: PulseScenario, { quantities }: ScenarioCoverage): string[] {
  return Object.entries(quantities).flatMap(([name, count]) => {
    if (count.reported < FEWEST) return [];
    const covered = count.covered / count.reported;
    // Where the edge lies at one end of what the rows leave open, in every record, such an interval holds always.
    const fits = covered >= LEAST && (covered <= MOST || isConditional(count));
    if (fits) return [];
    const width = `standard uncertainty ${((100 * count.uncertainty) / count.reported).toFixed(2)} %`;
    const why = covered > MOST && scenario.wide !== undefined ? `; ${scenario.wide}` : '';
    return [`${scenario.name}, ${name}: ${(100 * covered).toFixed(1)} % (${width}${why})`];
  });
}

/** One line for each scenario: the share for each quantity, marked * where conditional, – where not reported. */
export function coverageTable(counted: readonly Counted[]): string[] {
  const names = [...new Set(counted.flatMap(({ coverage }) => Object.keys(coverage.quantities)))];
  const width = Math.max(...counted.map(({ scenario }) => scenario.name.length));
  const head = `${''.padEnd(width)} ${names.map((name) => name.padStart(10)).join('')}`;
  const lines = counted.map(({ scenario, coverage }) => {
    const cells = names.map((name) => {
      const count = coverage.quantities[name];
      if (count === undefined || count.reported === 0) return '–'.padStart(10);
      const share = ((100 * count.covered) / count.reported).toFixed(1);
      const some = count.reported < coverage.records ? `/${count.reported}` : '';
      return `${share}${some}${isConditional(count) ? '*' : ''}`.padStart(10);
    });
    return `${scenario.name.padEnd(width)} ${cells.join('')}`;
  });
  return [
    head,
    ...lines,
    '* conditional on the moment of the edge or the OCV slope; /n reported in n records; – not reported, with a reason in the result',
  ];
}
