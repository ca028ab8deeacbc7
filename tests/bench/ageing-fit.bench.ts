import { existsSync, readFileSync } from 'node:fs';
import { fitExponentialLinear } from '../../fitting/ageing/exponentialLaw.ts';
import { AGEING_MODEL_NAMES, AGEING_MODELS } from '../../fitting/ageing/fitModels.ts';
import type { LawFit } from '../../fitting/ageing/lawFit.ts';
import { type AgeingPoints, ageingPoints } from '../../fitting/ageing/points.ts';
import { fitPower } from '../../fitting/ageing/powerLaw.ts';
import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';
import { evaluateAgeingTable } from '../../server/assess/ageing/evaluateAgeingTable.ts';
import { findPython, runPython } from '../support/python.ts';
import { groupRows, numbers, readCsv } from '../support/readCsv.ts';
import { sharedPath } from '../support/required.ts';
import { type Bench, type BenchResult, type BenchRow, median, shareOf, time } from './harness.ts';

const count = shareOf(200, 4);
/**
 * Ours and the peer take turns. All rounds of ours last a tenth of a second and the peer's seconds: timed in one go each, whoever else
 * uses the machine at that moment slows one of them alone. The medians are over the rounds of all turns, for both alike.
 */
const turns = 3;
/** Timed rounds of each turn, after unmeasured ones of its own. */
const rounds = { ours: shareOf(7), peer: shareOf(3) };
const tableFile = sharedPath('datasets/lfp-fast-charge/cycle_summary.csv');

interface Series {
  readonly x: Float64Array;
  readonly y: Float64Array;
}

/** 170 to 1,000 points, 0.1 % noise: the laws of the fade literature, synthetic with a fixed seed. */
function makeSeries(kind: Kind): Series[] {
  const random = seededRandom(kind === 'power' ? 11 : 12);
  const normal = normalSource(random);
  return Array.from({ length: count }, () => {
    const n = 170 + Math.floor(random() * 831);
    const step = (): number => (kind === 'scattered' ? 0.2 + 1.6 * random() : 1);
    const x = new Float64Array(n);
    for (let i = 0, at = 0; i < n; i++) {
      at += step();
      x[i] = at;
    }
    const last = x[n - 1];
    const exponent = 0.4 + 0.9 * random();
    const tau = last * (0.05 + 0.3 * random());
    const loss = (at: number): number =>
      kind === 'power'
        ? 0.15 * (at / last) ** exponent
        : 0.06 * (1 - Math.exp(-at / tau)) + (0.1 * at) / last;
    return { x, y: x.map((at) => 1 - loss(at) + 0.001 * normal()) };
  });
}

interface Times {
  seconds: number[];
  sums: number[];
}

interface PeerAnswer {
  power: Times;
  exponential: Times;
  scattered: Times;
  models: Record<string, Times>;
}

const plain = (series: readonly Series[]) =>
  series.map(({ x, y }) => ({ x: Array.from(x), y: Array.from(y) }));

const kinds = [
  ['power', 'power law', fitPower],
  ['exponential', 'exponential plus linear, consecutive cycles', fitExponentialLinear],
  ['scattered', 'exponential plus linear, any positions', fitExponentialLinear],
] as const;
type Kind = (typeof kinds)[number][0];

/** Times a fit over all series, from the bare arrays to the standard errors; seconds of one fit. */
async function timeOurs(series: readonly Series[], fitLaw: (points: AgeingPoints) => LawFit): Promise<Times> {
  let sums: number[] = [];
  const seconds = await time(
    () => {
      sums = series.map(({ x, y }) => {
        const law = fitLaw(ageingPoints(x, y));
        if (law.covariance === null) throw new Error(`${law.name}: no standard errors`);
        return law.residualSumOfSquares;
      });
    },
    rounds.ours,
    20,
  );
  return { seconds: seconds.map((whole) => whole / series.length), sums };
}

/** All turns: ours by law, and the peer's answers (none where Python or SciPy is missing). */
async function takeTurns(
  series: Record<Kind, Series[]>,
  cells: readonly Series[],
): Promise<{ ours: Record<Kind, Times>; peer: PeerAnswer | null }> {
  const none = (): Times => ({ seconds: [], sums: [] });
  const ours = { power: none(), exponential: none(), scattered: none() };
  const python = findPython('scipy', 'numpy');
  const program = readFileSync(new URL('ageing-peer.py', import.meta.url), 'utf8');
  const job = Object.fromEntries(kinds.map(([kind]) => [kind, plain(series[kind])]));
  let peer: PeerAnswer | null = null;
  for (let turn = 0; turn < turns; turn++) {
    for (const [kind, , fitLaw] of kinds) {
      const { seconds, sums } = await timeOurs(series[kind], fitLaw);
      ours[kind].seconds.push(...seconds);
      ours[kind].sums = sums;
    }
    if (python === null) continue;
    const input = { ...job, rounds: rounds.peer, cells: turn === 0 ? plain(cells) : [] };
    const answer = runPython(python, program, input) as PeerAnswer;
    if (peer === null) peer = answer;
    else for (const [kind] of kinds) peer[kind].seconds.push(...answer[kind].seconds);
  }
  return { ours, peer };
}

const share = (sums: readonly number[], best: readonly number[]): string =>
  `${((100 * sums.filter((sum, k) => sum <= best[k] * (1 + 1e-6)).length) / sums.length).toFixed(1)} % at the best known optimum`;

function readCells(): Series[] {
  if (!existsSync(tableFile)) return [];
  return [...groupRows(readCsv(tableFile).rows, 0).values()].map((rows) => ({
    x: numbers(rows, 1),
    y: numbers(rows, 2),
  }));
}

/** All models on the 31 cells: seconds of ours, and how many end above the peer's sum of squares. */
async function allModels(
  cells: readonly Series[],
  peer: PeerAnswer | null,
): Promise<{ rows: BenchRow[]; remarks: string[] }> {
  if (cells.length === 0)
    return { rows: [], remarks: ['The 31 cells are missing: ../shared/datasets/lfp-fast-charge'] };
  const points = cells.map(({ x, y }) => ageingPoints(x, y));
  const sums = new Map<string, number[]>();
  const seconds = await time(
    () => {
      for (const name of AGEING_MODEL_NAMES) {
        sums.set(
          name,
          points.map((p) => AGEING_MODELS[name].fit(p).residualSumOfSquares),
        );
      }
    },
    5,
    2,
  );
  const ours = median(seconds);
  const rows: BenchRow[] = [{ who: 'gemel, six models on 31 cells', medianS: ours }];
  const remarks: string[] = [];
  if (peer !== null) {
    const theirs = Object.values(peer.models).reduce((sum, m) => sum + median(m.seconds) * cells.length, 0);
    rows.push({ who: 'SciPy curve_fit, the same', medianS: theirs });
    const better = AGEING_MODEL_NAMES.map((name) => {
      const mine = sums.get(name) ?? [];
      const worse = mine.filter((sum, k) => sum > peer.models[name].sums[k] * (1 + 1e-4)).length;
      const beaten = mine.filter((sum, k) => sum < peer.models[name].sums[k] * (1 - 1e-4)).length;
      return `${name} ${beaten}/${worse}`;
    });
    remarks.push(`all models, 31 cells: ${(theirs / ours).toFixed(1)} times quicker`);
    remarks.push(`series fitted better / worse than by SciPy: ${better.join(', ')}`);
  }
  const whole = await time(evaluateWholeTable, 2, 0);
  rows.push({ who: 'gemel, whole table: both quantities, limits, intervals, fans', medianS: median(whole) });
  return { rows, remarks };
}

function evaluateWholeTable(): void {
  const groups = groupRows(readCsv(tableFile).rows, 0);
  const inputs = [...groups].map(([cell, rows]) => ({
    cell,
    x: numbers(rows, 1),
    capacityAh: numbers(rows, 2),
    resistanceOhm: numbers(rows, 4),
  }));
  const result = evaluateAgeingTable(inputs, { quantity: 'capacity', ratedCapacityAh: 1.1 });
  if (result.cells.length !== inputs.length) throw new Error('The table was not evaluated');
}

async function run(): Promise<BenchResult> {
  const series = {
    power: makeSeries('power'),
    exponential: makeSeries('exponential'),
    scattered: makeSeries('scattered'),
  };
  const cells = readCells();
  const { ours, peer } = await takeTurns(series, cells);
  const rows: BenchRow[] = [];
  const ratios: number[] = [];
  for (const [kind, label] of kinds) {
    const best = ours[kind].sums.map((sum, k) => Math.min(sum, peer?.[kind].sums[k] ?? Infinity));
    const mine = median(ours[kind].seconds);
    rows.push({ who: `gemel, ${label}`, medianS: mine, note: share(ours[kind].sums, best) });
    if (peer === null) continue;
    const theirs = median(peer[kind].seconds);
    ratios.push(theirs / mine);
    rows.push({
      who: `SciPy curve_fit, analytic Jacobian, ${label}`,
      medianS: theirs,
      note: share(peer[kind].sums, best),
    });
  }
  const models = await allModels(cells, peer);
  return {
    name: 'ageing-fit',
    title: `Fade fits: ${count} records of each law, one fit with its standard errors`,
    rows: [...rows, ...models.rows],
    ratio: peer === null ? null : Math.sqrt(ratios[0] * ratios[1]),
    against:
      'SciPy curve_fit with analytic Jacobian, geometric mean of power law and exponential plus linear',
    missing: peer === null ? 'SciPy; install it with: apt-get install python3-scipy' : undefined,
    remarks: [
      ...(peer === null
        ? []
        : [
            `power law ${ratios[0].toFixed(1)}, exponential plus linear ${ratios[1].toFixed(1)}, any positions ${ratios[2].toFixed(1)} times quicker`,
          ]),
      ...models.remarks,
    ],
  };
}

const bench: Bench = { name: 'ageing-fit', run };
export default bench;
