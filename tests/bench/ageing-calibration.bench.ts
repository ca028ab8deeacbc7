import { existsSync } from 'node:fs';
import { sharedPath } from '../support/required.ts';
import { type CalibrationRow, calibrate, calibrateRecovering, LEVELS } from './ageingCalibration.ts';
import type { Bench, BenchResult } from './harness.ts';

const shares = [0.5, 0.75, 0.9];

/** One panel a share of life: forecast against what came, intervals as bars, cells in order of life. */
function picture(rows: readonly CalibrationRow[]): string {
  const panel = 250;
  const most = 700;
  const scale = (x: number): number => (Math.min(x, most) / most) * 210;
  const panels = rows.map((row, k) => {
    const marks = row.cases.map(({ life, forecast }) => {
      if (forecast.value === null) return '';
      const x = (35 + scale(life)).toFixed(1);
      const y = (value: number): string => (240 - scale(value)).toFixed(1);
      return `<line x1="${x}" x2="${x}" y1="${y(forecast.low ?? 0)}" y2="${y(forecast.high ?? most)}" stroke="#9aa5ab"/><circle cx="${x}" cy="${y(forecast.value)}" r="2.5" fill="#1b5e7b"/>`;
    });
    const title = `${100 * row.share} % of life${row.lotPrior ? ', lot as prior' : ', cell alone'}`;
    return `<g transform="translate(${(k % 3) * panel} ${Math.floor(k / 3) * 270})"><text x="35" y="16">${title}</text><rect x="35" y="30" width="210" height="210" fill="none" stroke="#555"/><line x1="35" y1="240" x2="245" y2="30" stroke="#b5651d" stroke-dasharray="4 3"/>${marks.join('')}<text x="35" y="254">real life 0 to ${most} cycles; up: forecast, 80 % interval</text></g>`;
  });
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${3 * panel} ${Math.ceil(rows.length / 3) * 270}" font-family="sans-serif" font-size="10" role="img" aria-label="Forecast life against real life">${panels.join('')}</svg>`;
}

/** One line of the table. */
function tell(row: CalibrationRow): string {
  const inside = row.coverage.map((part) => `${(100 * part).toFixed(0)} %`.padEnd(6)).join(' ');
  const ratios = row.cases.flatMap(({ forecast }) => (forecast.ratio === null ? [] : [forecast.ratio]));
  const ratio = ratios.reduce((sum, value) => sum + value, 0) / ratios.length;
  const from = `${100 * row.share} %`.padEnd(10);
  const prior = (row.lotPrior ? 'lot' : 'alone').padEnd(6);
  const error = `${(100 * row.medianError).toFixed(1)} %`.padEnd(13);
  return `${from} ${prior}        ${inside} ${error} ${ratio.toFixed(2)}  (${row.cases.length})`;
}

async function run(): Promise<BenchResult> {
  const name = 'ageing-calibration';
  const title = 'Forecasts of cycle life from part of it, 27 cells, against what came';
  if (!existsSync(sharedPath('datasets/lfp-fast-charge/cells.csv'))) {
    const missing =
      'the data set ../shared/datasets/lfp-fast-charge; place the shared folder beside the project';
    return { name, title, rows: [{ who: 'gemel', medianS: 0 }], ratio: null, against: 'none', missing };
  }
  const started = performance.now();
  const rows = [...calibrate(shares, true), ...calibrate(shares, false)];
  const seconds = (performance.now() - started) / 1000 / rows.reduce((sum, row) => sum + row.cases.length, 0);
  const head = `from       prior  within ${LEVELS.map((level) => `${100 * level} %`.padEnd(6)).join(' ')} median error  mean ratio`;
  const recovering = existsSync(sharedPath('datasets/nasa-pcoe/discharge_capacity.csv'))
    ? calibrateRecovering(shares)
    : [];
  return {
    name,
    title,
    rows: [{ who: 'gemel, one forecast', medianS: seconds, note: 'lot as prior and alone together' }],
    ratio: null,
    against: 'none: the table is the result',
    remarks: [
      head,
      ...rows.map(tell),
      'cells whose capacity recovers after rests, several limits each (NASA Ames), alone:',
      ...recovering.map(tell),
    ],
    pictures: { 'ageing-calibration.svg': picture(rows) },
  };
}

const bench: Bench = { name: 'ageing-calibration', run };
export default bench;
