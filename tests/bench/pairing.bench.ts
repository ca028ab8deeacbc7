import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, rmSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { FeatureCosts } from '../../fitting/pairing/featureCosts.ts';
import { FeatureSource } from '../../fitting/pairing/featureSource.ts';
import { matchProvenBest } from '../../fitting/pairing/provenMatching.ts';
import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';
import { type Bench, type BenchRow, median, shareOf } from './harness.ts';

const DIMENSIONS = 4;
const INSTALL = 'LEMON and g++; to install: apt-get install g++ liblemon-dev';
const results = fileURLToPath(new URL('./results/', import.meta.url));
const peer = `${results}pairing-peer`;

interface Lot {
  readonly label: string;
  readonly count: number;
  /** Whole numbers, cell by cell, small enough for the peer's 32-bit costs. */
  readonly values: Int32Array;
}

/** Normal lots; `apart` moves the first cells, an odd number of them, that far away. */
function makeLot(count: number, seed: number, apart = 0): Lot {
  const normal = normalSource(seededRandom(seed));
  const near = 2 * Math.floor(count / 4) + 1;
  const values = Int32Array.from({ length: count * DIMENSIONS }, (_, i) =>
    Math.round(400 * normal() + (i < near * DIMENSIONS ? apart : 0)),
  );
  return { label: apart === 0 ? 'one lot' : 'two far lots of odd size', count, values };
}

/** Everything a user waits for: costs, neighbour lists, matching, pricing, and the separate check. */
function solve(lot: Lot): number {
  const features = Array.from({ length: DIMENSIONS }, (_, d) => ({
    values: Float64Array.from({ length: lot.count }, (_, i) => lot.values[i * DIMENSIONS + d]),
    tolerance: 1,
    importance: 1,
    limit: Infinity,
  }));
  const costs = new FeatureCosts(features);
  const { check } = matchProvenBest(new FeatureSource(costs));
  if (!check.proven) throw new Error(`${lot.count} cells: not proven, ${check.failure}`);
  return check.total * costs.resolution;
}

/** Processor seconds of each round, so that other programs on the machine count for neither side. */
function processorTimes(work: () => unknown, rounds: number): number[] {
  return Array.from({ length: rounds }, () => {
    const before = process.cpuUsage();
    work();
    const { user, system } = process.cpuUsage(before);
    return (user + system) / 1e6;
  });
}

function buildPeer(): string | null {
  mkdirSync(results, { recursive: true });
  const source = fileURLToPath(new URL('./pairing-peer.cpp', import.meta.url));
  const run = spawnSync('g++', ['-O2', '-o', peer, source], { encoding: 'utf8' });
  if (run.error) return INSTALL;
  if (run.status !== 0) return `${INSTALL} (the compiler said: ${run.stderr.split('\n')[0]})`;
  return existsSync(peer) ? null : INSTALL;
}

/** LEMON's graphs: all edges stored, or none, in about half the memory. */
const peerGraphs = ['explicit', 'implicit'] as const;
type PeerGraph = (typeof peerGraphs)[number];

function runPeer(lot: Lot, rounds: number, graph: PeerGraph): { total: number; medianS: number } {
  const file = `${results}pairing-lot.bin`;
  writeFileSync(file, Buffer.from(lot.values.buffer));
  const run = spawnSync(peer, [file, String(lot.count), String(DIMENSIONS), String(rounds), graph], {
    encoding: 'utf8',
  });
  rmSync(file);
  if (run.status !== 0) throw new Error(`LEMON ended with ${run.status ?? run.signal}: ${run.stderr}`);
  const [total, ...seconds] = run.stdout.trim().split('\n').map(Number);
  return { total, medianS: median(seconds) };
}

/** Ours and, where it is there, the peer in turn on the same lots; the medians over the lots. */
function compare(lots: readonly Lot[], rounds: number, peerRounds: number) {
  const ours: number[] = [];
  const theirs: Record<PeerGraph, number[]> = { explicit: [], implicit: [] };
  for (const lot of lots) {
    const total = solve(lot);
    ours.push(median(processorTimes(() => solve(lot), rounds)));
    if (peerRounds === 0) continue;
    for (const graph of peerGraphs) {
      const answer = runPeer(lot, peerRounds, graph);
      if (answer.total !== total)
        throw new Error(`${lot.count} cells: total ${total} differs from LEMON's ${answer.total}`);
      theirs[graph].push(answer.medianS);
    }
  }
  const medianOf = (graph: PeerGraph) => (theirs[graph].length > 0 ? median(theirs[graph]) : null);
  return { ours: median(ours), theirs: medianOf('explicit'), implicit: medianOf('implicit') };
}

/** A share of the cells, an even number: an odd one cannot be paired. */
const even = (cells: number): number => 2 * shareOf(cells / 2, 10);

const cases = [
  { lots: [1, 2, 3].map((seed) => makeLot(even(500), seed)), rounds: 9, peerRounds: 5 },
  { lots: [1, 2, 3].map((seed) => makeLot(even(1000), seed)), rounds: 9, peerRounds: 3 },
  { lots: [1, 2, 3].map((seed) => makeLot(even(2000), seed)), rounds: 9, peerRounds: 1 },
  { lots: [makeLot(even(1000), 4, 4000)], rounds: 5, peerRounds: 1 },
  { lots: [makeLot(even(2000), 4, 4000)], rounds: 5, peerRounds: 1 },
  { lots: [makeLot(even(5000), 5)], rounds: 3, peerRounds: 0 },
  { lots: [makeLot(even(10_000), 6)], rounds: 3, peerRounds: 0 },
  { lots: [makeLot(even(20_000), 7)], rounds: 1, peerRounds: 0 },
  { lots: [makeLot(even(50_000), 8)], rounds: 1, peerRounds: 0 },
];

const bench: Bench = {
  name: 'pairing',
  async run() {
    const missing = buildPeer();
    const rows: BenchRow[] = [];
    const medians = new Map<number, number>();
    let ratio: number | null = null;
    for (const { lots, rounds, peerRounds } of cases) {
      const { count, label } = lots[0];
      const { ours, theirs, implicit } = compare(lots, rounds, missing ? 0 : peerRounds);
      const faster = theirs === null ? undefined : `${(theirs / ours).toFixed(1)} times as fast, same totals`;
      rows.push({ who: `ours, ${count} cells, ${label}`, medianS: ours, note: faster });
      if (theirs !== null)
        rows.push({ who: `LEMON complete, ${count} cells, ${label}`, medianS: theirs, note: 'run() alone' });
      if (implicit !== null)
        rows.push({
          who: `LEMON complete, ${count} cells, ${label}, implicit graph`,
          medianS: implicit,
          note: `run() alone; ours ${(implicit / ours).toFixed(1)} times as fast`,
        });
      if (label !== 'one lot') continue;
      medians.set(count, ours);
      if (count === even(2000) && theirs !== null) ratio = theirs / ours;
    }
    const growth = Math.log10(medians.get(even(5000))! / medians.get(even(500))!);
    return {
      name: 'pairing',
      title:
        'Proven best pairing by four features: neighbour lists, matching, pricing and check included; processor time',
      rows,
      ratio,
      against: 'LEMON MaxWeightedPerfectMatching on the complete graph, C++ -O2; one pairing of 2,000 cells',
      missing: missing ?? undefined,
      remarks: [
        `growth exponent from 500 to 5,000 cells: ${growth.toFixed(2)}`,
        `largest memory of the process: ${Math.round(process.resourceUsage().maxRSS / 1024)} MiB`,
      ],
    };
  },
};
export default bench;
