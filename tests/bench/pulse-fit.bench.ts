import { type FittedCircuit, fitCircuit } from '../../fitting/circuit/fit/fitCircuit.ts';
import { circuitWindow } from '../../fitting/circuit/window/circuitWindow.ts';
import { findPython, runPython } from '../support/python.ts';
import { type Bench, type BenchResult, type BenchRow, median, shareOf, time } from './harness.ts';
import { type PulseFitRecord, pulseFitRecords } from './pulseFitRecords.ts';

const count = shareOf(200, 4);
/** Ours and the peer take turns, so that a load that comes and goes meets both. */
const turns = shareOf(3);
const rounds = shareOf(6);

/**
 * SciPy's curve_fit (Levenberg–Marquardt of MINPACK), analytic Jacobian, the two phases split before the
 * clock starts.
 */
const scipy = `
import sys, json, time
import numpy as np
from scipy.optimize import curve_fit
job = json.load(sys.stdin)
sets = []
for r in job['records']:
    t = np.array(r['timeS']); i = np.array(r['currentA']); v = np.array(r['voltageV'])
    sets.append((t[1:], v[1:], int(np.sum(i != 0)), r['pulseA'], r['pulseEndS'], r['start']))
def functions(t, m, a, T):
    tp, tr = t[:m], t[m:] - T
    n = t.size
    out = np.empty(n); J = np.empty((n, 6)); J[:, 0] = 1; J[:m, 1] = a; J[m:, 1] = 0
    def f(x, o, r0, r1, t1, r2, t2):
        out[:m] = o + a * (r0 + r1 * (1 - np.exp(-tp / t1)) + r2 * (1 - np.exp(-tp / t2)))
        out[m:] = o + a * (r1 * (1 - np.exp(-T / t1)) * np.exp(-tr / t1) + r2 * (1 - np.exp(-T / t2)) * np.exp(-tr / t2))
        return out.copy()
    def jac(x, o, r0, r1, t1, r2, t2):
        for c, r, tau in ((2, r1, t1), (4, r2, t2)):
            e = np.exp(-tp / tau); E = np.exp(-T / tau); d = np.exp(-tr / tau)
            J[:m, c] = a * (1 - e); J[m:, c] = a * (1 - E) * d
            J[:m, c + 1] = -a * r * e * tp / tau**2
            J[m:, c + 1] = a * r * d * ((1 - E) * tr - E * T) / tau**2
        return J.copy()
    return f, jac
def run(which):
    sums = []
    for (t, v, m, a, T, start), (f, jac) in zip(sets, made):
        s = start[which]
        p0 = [v[-1], 0.03, 0.015, s[0], 0.015, s[1]]
        try:
            p, cov = curve_fit(f, t, v, p0, jac=jac, method='lm', maxfev=2000)
            sums.append(float(np.sum((v - f(t, *p)) ** 2)))
        except Exception:
            sums.append(float('inf'))
    return sums
made = [functions(t, m, a, T) for (t, v, m, a, T, s) in sets]
seconds = []
run('data')
for _ in range(job['rounds']):
    began = time.perf_counter(); data = run('data'); seconds.append((time.perf_counter() - began) / len(sets))
rand = run('random')
big = 1e300
print(json.dumps({'seconds': seconds, 'data': [min(x, big) for x in data], 'random': [min(x, big) for x in rand]}))
`;

interface PeerAnswer {
  seconds: number[];
  data: number[];
  random: number[];
}

function fitAll(records: readonly PulseFitRecord[], random: boolean): FittedCircuit[] {
  return records.map((record) => {
    const window = circuitWindow({ ...record, firstScored: 1 });
    return fitCircuit(window, { branches: 2, starts: [random ? record.randomStart : record.dataStart] });
  });
}

function atOptimum(sums: readonly number[], best: readonly number[]): string {
  const hits = sums.filter((sum, k) => sum <= best[k] * (1 + 1e-6)).length;
  return `${((100 * hits) / sums.length).toFixed(1)} % at the best known optimum`;
}

async function compare(python: string, uniform: boolean): Promise<{ rows: BenchRow[]; ratio: number }> {
  const records = pulseFitRecords(count, uniform);
  const label = uniform ? 'equal intervals' : 'any timestamps';
  const job = {
    rounds,
    records: records.map((record) => ({
      timeS: [...record.timeS],
      currentA: [...record.currentA],
      voltageV: [...record.voltageV],
      pulseA: record.pulseA,
      pulseEndS: record.pulseEndS,
      start: { data: record.dataStart, random: record.randomStart },
    })),
  };
  const [ours, oursRandom, theirs]: number[][] = [[], [], []];
  const perFit = (seconds: number[]): number[] => seconds.map((s) => s / count);
  let peer: PeerAnswer = { seconds: [], data: [], random: [] };
  for (let turn = 0; turn < turns; turn++) {
    ours.push(...perFit(await time(() => fitAll(records, false), rounds, turn === 0 ? 25 : 2)));
    oursRandom.push(...perFit(await time(() => fitAll(records, true), rounds, turn === 0 ? 10 : 1)));
    peer = runPython(python, scipy, job) as PeerAnswer;
    theirs.push(...peer.seconds);
  }
  const sums = (random: boolean): number[] =>
    fitAll(records, random).map((circuit) => circuit.residualSumOfSquares);
  const [data, random] = [sums(false), sums(true)];
  const best = data.map((sum, k) => Math.min(sum, random[k], peer.data[k], peer.random[k]));
  return {
    rows: [
      { who: `gemel, ${label}`, medianS: median(ours), note: atOptimum(data, best) },
      { who: `gemel, ${label}, random start`, medianS: median(oursRandom), note: atOptimum(random, best) },
      {
        who: `SciPy curve_fit lm, ${label}`,
        medianS: median(theirs),
        note: atOptimum(peer.data, best),
      },
    ],
    ratio: median(theirs) / median(ours),
  };
}

async function run(): Promise<BenchResult> {
  const shared = {
    name: 'pulse-fit',
    title: `Pulse fit: six unknowns, 1,000 samples, 0.2 mV noise, ${count} records; one fit with standard errors`,
    against: 'SciPy curve_fit (lm, analytic Jacobian, phases split beforehand), equal intervals; one fit',
  };
  const python = findPython('numpy', 'scipy');
  if (python === null) {
    return {
      ...shared,
      rows: [],
      ratio: null,
      missing: 'SciPy; to install it: apt-get install python3-scipy',
    };
  }
  const uniform = await compare(python, true);
  const any = await compare(python, false);
  return {
    ...shared,
    rows: [...uniform.rows, ...any.rows],
    ratio: uniform.ratio,
    remarks: [`on any timestamps the ratio is ${any.ratio.toPrecision(3)}`],
  };
}

const bench: Bench = { name: 'pulse-fit', run };
export default bench;
