import { readFileSync } from 'node:fs';
import type { ChargeLog } from '../../fitting/charge-log/chargeLog.ts';
import { fitChargeLog, prepareLogs } from '../../fitting/charge-log/fitChargeLog.ts';
import type { CellToFit } from '../../fitting/charge-log/logParameters.ts';
import { chargeSetupOf } from '../../server/assess/charging/chargeSetupOf.ts';
import { findPython, runPython } from '../support/python.ts';
import { logStudy, stackLogRows, usualBench, usualTruth } from '../support/stackLog.ts';
import { type Bench, type BenchResult, median, shareOf, time } from './harness.ts';

const ROUNDS = 1;
/** One hour of the log. */
const ROWS = shareOf(3600, 300);

/** The first hour of a simulated log at 1 s; the bench's constant errors are left out, which the peer does not know either. */
function hourLog(): ChargeLog {
  const bench = { ...usualBench(1), voltageOffsetV: 0, currentOffsetA: 0, beginsBefore: 0.5 };
  const rows = stackLogRows(usualTruth, bench).slice(0, ROWS);
  const column = (c: number) => Float64Array.from(rows, (row) => row[c]);
  return {
    timeS: column(0),
    currentA: column(3),
    cells: [1, 2].map((c) => ({ voltageV: column(c), temperatureC: null })),
    stackVoltageV: null,
    bus: null,
    sourceVoltageV: null,
    ambientTemperatureC: 25,
  };
}

async function run(): Promise<BenchResult> {
  const log = hourLog();
  const study = logStudy();
  const { setup } = chargeSetupOf({ ...study, converter: undefined });
  const cells = setup.cells.map(
    ({ cell }): CellToFit => ({
      cell,
      startSoc: [0.1],
      searchSoc: [0.1],
      free: ['startSoc', 'r0Factor', 'branchFactor'],
      slow: null,
      knots: null,
      curveSpreadV: 0,
      warmingShare: 0,
      known: { r0Factor: null, branchFactor: null },
    }),
  );
  const instrument = { voltageOffsetV: 1e-4, currentOffsetA: 1e-3, currentGain: 0 };
  const fitLog = () =>
    fitChargeLog(prepareLogs({ logs: [log], cells, instrument, firstS: 0, fullEnds: [null] }));
  const ours = median(await time(fitLog, 7, 2));
  const asked = new Set(['startSoc', 'r0Factor', 'branchFactor']);
  const values = fitLog().estimates.filter(({ quantity }) => asked.has(quantity));
  const rows = [
    {
      who: 'gemel: fit with channel errors, intervals and single changes',
      medianS: ours,
      note: values.map(({ value }) => value.toFixed(4)).join(' '),
    },
  ];
  const result = {
    name: 'charge-log-fit',
    title: 'Fit of a one-hour log at 1 s, two cells, six free parameters',
    against: 'SciPy least_squares over the same model integrated by LSODA; one unit is one fit',
  };
  const python = findPython('scipy');
  if (python === null)
    return { ...result, rows, ratio: null, missing: 'SciPy: apt-get install python3-scipy' };
  const settled = Array.from(log.timeS, (t, row) => (t > 65 ? row : -1)).filter((row) => row >= 0);
  const peer = runPython(python, readFileSync(new URL('charge-log-fit-peer.py', import.meta.url), 'utf8'), {
    timeS: [...log.timeS],
    currentA: [...log.currentA],
    voltageV: log.cells.map(({ voltageV }) => [...voltageV]),
    settled,
    cell: study.cells[0],
    start: [0.1, 1, 1, 0.1, 1, 1],
    rounds: ROUNDS,
  }) as { seconds: number[]; values: number[]; evaluations: number };
  const theirs = median(peer.seconds);
  rows.push({
    who: 'SciPy least_squares over LSODA',
    medianS: theirs,
    note: `${peer.values.map((value) => value.toFixed(4)).join(' ')}, ${peer.evaluations} steps`,
  });
  return { ...result, rows, ratio: theirs / ours };
}

export default { name: 'charge-log-fit', run } satisfies Bench;
