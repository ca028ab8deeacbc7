import { GAS_CONSTANT, monotoneCurve, ZERO_CELSIUS_K } from '../../fitting/numeric/index.ts';
import type { ChargeCellDescription, GridValue } from '../contract/chargeStudy.ts';
import { ExportRefused } from './refusal.ts';

/**
 * A number in plain exponent form. No unit letters: a circuit simulator reads `1F` as 1e-15 and `1M` as 1e-3.
 * @throws ExportRefused where it is not finite.
 */
export function spiceNumber(value: number, field = 'number'): string {
  if (!Number.isFinite(value))
    throw new ExportRefused('parameter-out-of-range', field, String(value), 'a finite number is needed');
  return value.toExponential();
}

/** Splits a statement into lines of at most 100 characters, continued as SPICE does with a plus sign; a comment stays whole. */
export function spiceLines(statement: string): string {
  if (statement.startsWith('*')) return statement;
  const words = statement.split(' ');
  const lines: string[] = [];
  let line = '';
  for (const word of words) {
    if (line !== '' && line.length + word.length + 1 > 100) {
      lines.push(line);
      line = `+ ${word}`;
    } else {
      line = line === '' ? word : `${line} ${word}`;
    }
  }
  lines.push(line);
  return lines.join('\n');
}

/** Rows of a quantity: for each temperature its values over SOC. */
function byTemperature(value: GridValue, socCount: number, temperatureCount: number): number[][] {
  return Array.from({ length: temperatureCount }, (_, t) =>
    Array.from({ length: socCount }, (_, s) => {
      if (typeof value === 'number') return value;
      const row = value[s];
      return typeof row === 'number' ? row : row[t];
    }),
  );
}

/**
 * Expression of a quantity over the SOC node `v(soc)` and the temperature node `v(tcell)`: straight lines in both, the edge
 * values outside. Between two temperatures the two tables are blended by a clamped weight.
 */
function tableExpression(cell: ChargeCellDescription, value: GridValue, field: string): string {
  const temperatures = cell.temperatureC ?? [];
  const tables = byTemperature(value, cell.soc.length, Math.max(1, temperatures.length));
  const low = spiceNumber(cell.soc[0]);
  const high = spiceNumber(cell.soc[cell.soc.length - 1]);
  const alongSoc = (values: readonly number[]): string => {
    if (values.every((v) => v === values[0])) return spiceNumber(values[0], field);
    const points = values.map((v, i) => `${spiceNumber(cell.soc[i])}, ${spiceNumber(v, field)}`).join(', ');
    return `pwl(min(max(v(soc), ${low}), ${high}), ${points})`;
  };
  let expression = alongSoc(tables[0]);
  for (let t = 1; t < tables.length; t++) {
    const from = spiceNumber(temperatures[t - 1]);
    const width = spiceNumber(temperatures[t] - temperatures[t - 1]);
    const weight = `min(max((v(tcell) - ${from}) / ${width}, 0), 1)`;
    const difference = tables[t].map((v, i) => v - tables[t - 1][i]);
    expression += ` + (${alongSoc(difference)}) * ${weight}`;
  }
  return `(${expression})`;
}

/** OCV inside the table by straight lines; outside it goes on with the slope of the last stretch, so an overcharge shows. */
function ocvExpression(cell: ChargeCellDescription): string {
  const n = cell.soc.length;
  const tables = byTemperature(cell.ocvV, n, Math.max(1, cell.temperatureC?.length ?? 1));
  const { soc } = cell;
  const slopes = (k: number) => tables.map((values) => (values[k + 1] - values[k]) / (soc[k + 1] - soc[k]));
  const constantOverSoc = (perTemperature: number[]): GridValue => soc.map(() => perTemperature);
  const below = tableExpression(cell, constantOverSoc(slopes(0)), 'slope of the open-circuit voltage');
  const above = tableExpression(cell, constantOverSoc(slopes(n - 2)), 'slope of the open-circuit voltage');
  return (
    `${tableExpression(cell, cell.ocvV, 'open-circuit voltage')} ` +
    `+ ${below} * min(v(soc) - ${spiceNumber(soc[0])}, 0) + ${above} * max(v(soc) - ${spiceNumber(soc[n - 1])}, 0)`
  );
}

/** The Arrhenius factor on a resistance, or nothing. */
function arrheniusFactor(cell: ChargeCellDescription): string {
  const { arrhenius } = cell;
  if (arrhenius === undefined) return '';
  const scale = spiceNumber(arrhenius.activationEnergyJPerMol / GAS_CONSTANT);
  const reference = spiceNumber(1 / (arrhenius.referenceTemperatureC + ZERO_CELSIUS_K));
  return ` * exp(${scale} * (1 / (v(tcell) + 2.7315e+2) - ${reference}))`;
}

/** Pieces that a stretch of a cubic is drawn in: within a few hundredths of a millivolt of it. */
const PIECES = 12;

/** A circuit simulator reads tables by straight lines: a cubic open-circuit curve is laid onto a finer grid. */
function byStraightLines(cell: ChargeCellDescription): ChargeCellDescription {
  if (cell.ocvInterpolation === 'linear') return cell;
  const grid = cell.soc;
  const soc = grid.flatMap((z, i) =>
    i === grid.length - 1
      ? [z]
      : Array.from({ length: PIECES }, (_, p) => z + (p / PIECES) * (grid[i + 1] - z)),
  );
  const columns = byTemperature(cell.ocvV, grid.length, Math.max(1, cell.temperatureC?.length ?? 1)).map(
    (values) => monotoneCurve(grid, values),
  );
  const ocvV =
    columns.length === 1
      ? soc.map((z) => columns[0].at(z))
      : soc.map((z) => columns.map((column) => column.at(z)));
  return { ...cell, soc, ocvV, ocvInterpolation: 'linear' };
}

/**
 * One cell as a subcircuit with the pins `pos neg soc tcell`: the node `soc` carries the state of charge as a voltage of
 * 0 to 1, `tcell` the temperature in °C. The mathematics is that of the simulated cell: charge counting, OCV and
 * resistances by straight lines over SOC (and temperature), branch voltages with dv/dt = (R i − v) / tau, and where the
 * cell type states them a lumped heat capacity and heat transfer.
 *
 * @param name identifier of the subcircuit
 * @param ambientTemperatureC temperature around the cell; where left out, that at which it starts
 * @throws ExportRefused where a number is not finite.
 */
export function spiceCell(cell: ChargeCellDescription, name: string, ambientTemperatureC?: number): string {
  const arrhenius = arrheniusFactor(cell);
  const branchFactor = cell.arrhenius?.branchesToo === true ? arrhenius : '';
  const n = cell.branches.length;
  const startTemperature = spiceNumber(cell.startTemperatureC ?? 25);
  const ambient = ambientTemperatureC === undefined ? startTemperature : spiceNumber(ambientTemperatureC);
  const lines = [
    `.subckt ${name} pos neg soc tcell params: soc0=${spiceNumber(cell.startSoc)} t0=${startTemperature} tamb=${ambient}`,
    '* Current into pos is i(vi), positive on charge.',
    'vi pos n0 0',
    `cq soc 0 ${spiceNumber(3600 * cell.capacityAh)} ic={soc0}`,
    'bq 0 soc i=i(vi)',
    `bo ocv neg v=${ocvExpression(byStraightLines(cell))}`,
    `br0 n0 n1 v=i(vi) * ${tableExpression(cell, cell.r0Ohm, 'r0')}${arrhenius}`,
  ];
  cell.branches.forEach((branch, j) => {
    const next = j === n - 1 ? 'ocv' : `n${j + 2}`;
    const r = `${tableExpression(cell, branch.rOhm, `r${j + 1}`)}${branchFactor}`;
    const tau = tableExpression(cell, branch.tauS, `tau${j + 1}`);
    lines.push(
      `* Branch ${j + 1}: node u${j + 1} holds its voltage.`,
      `cu${j + 1} u${j + 1} 0 1e+0 ic=0`,
      `bu${j + 1} 0 u${j + 1} i=(i(vi) * ${r} - v(u${j + 1})) / ${tau}`,
      `bn${j + 1} n${j + 1} ${next} v=v(u${j + 1})`,
    );
  });
  if (n === 0) lines.push('vn1 n1 ocv 0');
  lines.push(...thermalLines(cell), `.ends ${name}`);
  return lines.map(spiceLines).join('\n');
}

/** The thermal node: a heat capacity fed by the losses and the reversible heat, or a fixed temperature. */
function thermalLines(cell: ChargeCellDescription): string[] {
  if (cell.thermal === undefined) return ['vt tcell 0 {t0}'];
  const reversible =
    cell.entropicVPerK === undefined
      ? ''
      : ` + i(vi) * (v(tcell) + 2.7315e+2) * ${tableExpression(cell, cell.entropicVPerK, 'entropic coefficient')}`;
  return [
    '* Node tcell is the temperature in degrees Celsius: 1 V is 1 degree, 1 A is 1 W, 1 F is 1 J/K.',
    `ct tcell 0 ${spiceNumber(cell.thermal.heatCapacityJPerK)} ic={t0}`,
    `bt 0 tcell i=i(vi) * (v(pos, neg) - v(ocv, neg))${reversible} - ${spiceNumber(cell.thermal.heatTransferWPerK)} * (v(tcell) - {tamb})`,
  ];
}
