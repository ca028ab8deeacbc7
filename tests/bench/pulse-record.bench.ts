import { evaluatePulseRecord } from '../../server/assess/pulse/evaluatePulseRecord.ts';
import { findPython, runPython } from '../support/python.ts';
import { type Bench, type BenchResult, median, shareOf, time } from './harness.ts';
import { pulseRecordSample } from './pulseRecordSample.ts';

/** Ours and the peer take turns, so that a load that comes and goes meets both. */
const turns = shareOf(3);
const rounds = shareOf(5);

/**
 * SciPy's part: for every pulse curve_fit (lm, analytic Jacobian) with one, two and three branches, as
 * choosing their number needs; the pulses cut out and the phases split before the clock starts, ideal steps
 * of current instead of the measured one.
 */
const scipy = `
import sys, json, time
import numpy as np
from scipy.optimize import curve_fit
job = json.load(sys.stdin)
a, T = job['pulseA'], job['pulseS']
def functions(t, m, n):
    tp, tr = t[:m], t[m:] - T
    J = np.empty((t.size, 2 + 2 * n)); J[:, 0] = 1; J[:m, 1] = a; J[m:, 1] = 0
    out = np.empty(t.size)
    def f(x, *p):
        out[:m] = p[0] + a * p[1]; out[m:] = p[0]
        for k in range(n):
            r, tau = p[2 + 2 * k], p[3 + 2 * k]
            out[:m] += a * r * (1 - np.exp(-tp / tau))
            out[m:] += a * r * (1 - np.exp(-T / tau)) * np.exp(-tr / tau)
        return out.copy()
    def jac(x, *p):
        for k in range(n):
            r, tau = p[2 + 2 * k], p[3 + 2 * k]
            e = np.exp(-tp / tau); E = np.exp(-T / tau); d = np.exp(-tr / tau); c = 2 + 2 * k
            J[:m, c] = a * (1 - e); J[m:, c] = a * (1 - E) * d
            J[:m, c + 1] = -a * r * e * tp / tau**2
            J[m:, c + 1] = a * r * d * ((1 - E) * tr - E * T) / tau**2
        return J.copy()
    return f, jac
starts = [[10], [2, 20], [1, 8, 50]]
sets = [(np.array(s['t']), np.array(s['v']), s['m']) for s in job['sets']]
made = [[functions(t, m, n) for n in (1, 2, 3)] for t, v, m in sets]
def run():
    for (t, v, m), pairs in zip(sets, made):
        for n, (f, jac) in zip((1, 2, 3), pairs):
            p0 = [v[-1], 0.03] + [x for tau in starts[n - 1] for x in (0.03 / n, tau)]
            try: curve_fit(f, t, v, p0, jac=jac, method='lm', maxfev=1000)
            except RuntimeError: pass
run()
seconds = []
for _ in range(job['rounds']):
    began = time.perf_counter(); run(); seconds.append(time.perf_counter() - began)
print(json.dumps(seconds))
`;

async function run(): Promise<BenchResult> {
  const { record, pulses, pulseA, pulseS } = pulseRecordSample();
  const shared = {
    name: 'pulse-record',
    title: `A pulse record of ${record.timeS.length} rows with ${pulses.length} pulses, evaluated wholly`,
    against: 'SciPy curve_fit on the same pulses, its fits of one to three branches alone; one record',
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
  const settings = { ratedCapacityAh: 2, startSoc: 1, minVoltageV: 2.5, maxVoltageV: 4.2 };
  const job = {
    rounds,
    pulseA,
    pulseS,
    sets: pulses.map(({ start, end, last }) => ({
      t: [...record.timeS.subarray(start, last)].map((t) => t - record.timeS[start - 1]),
      v: [...record.voltageV.subarray(start, last)],
      m: end - start,
    })),
  };
  const [ours, peer]: number[][] = [[], []];
  for (let turn = 0; turn < turns; turn++) {
    ours.push(...(await time(() => evaluatePulseRecord(record, settings), rounds, turn === 0 ? 8 : 1)));
    peer.push(...(runPython(python, scipy, job) as number[]));
  }
  const { pulses: found } = evaluatePulseRecord(record, settings);
  const two = found.filter((pulse) => pulse.circuit?.branches === 2).length;
  return {
    ...shared,
    rows: [
      {
        who: 'gemel, steps, R(t), all fits, OCV',
        medianS: median(ours),
        note: `${two} of ${found.length} with two branches`,
      },
      { who: 'SciPy, fits alone', medianS: median(peer) },
    ],
    ratio: median(peer) / median(ours),
  };
}

const bench: Bench = { name: 'pulse-record', run };
export default bench;
