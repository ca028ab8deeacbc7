import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { CompiledCell } from '../../fitting/charging/cellModel.ts';
import { type ChargeSetup, DEFAULT_TOLERANCE } from '../../fitting/charging/chargeSetup.ts';
import type { ChargeCellDescription, GridValue } from '../../server/contract/chargeStudy.ts';

export const ngspicePresent = spawnSync('ngspice', ['--version']).status === 0;

/** What a run gave: the vectors by name over their common time, and the figures that the deck measured. */
export interface SpiceRun {
  readonly timeS: Float64Array;
  readonly vectors: ReadonlyMap<string, Float64Array>;
  readonly measured: ReadonlyMap<string, number>;
}

/** Runs a deck in the real ngspice and reads vectors back with twelve digits. */
export function runNgspice(deck: string, vectors: readonly string[]): SpiceRun {
  const folder = mkdtempSync(join(tmpdir(), 'gemel-spice-'));
  try {
    const data = join(folder, 'out.txt');
    const control = [
      '.control',
      'set numdgt=12',
      'set wr_singlescale',
      'run',
      `wrdata ${data} ${vectors.join(' ')}`,
      '.endc',
      '.end',
    ].join('\n');
    const path = join(folder, 'deck.cir');
    writeFileSync(path, deck.replace(/\.end\s*$/, `${control}\n`));
    const run = spawnSync('ngspice', ['-b', path], { encoding: 'utf8', maxBuffer: 1 << 28 });
    const output = `${run.stdout}\n${run.stderr}`;
    if (/error/i.test(output)) throw new Error(`ngspice: ${output}`);
    const rows = readFileSync(data, 'utf8')
      .trim()
      .split('\n')
      .map((line) => line.trim().split(/\s+/).map(Number));
    const measured = new Map<string, number>();
    for (const [, name, value] of output.matchAll(/^(\w+_s)\s*=\s*([0-9.e+-]+)/gm))
      measured.set(name, Number(value));
    return {
      timeS: Float64Array.from(rows, (row) => row[0]),
      vectors: new Map(vectors.map((name, i) => [name, Float64Array.from(rows, (row) => row[i + 1])])),
      measured,
    };
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/** A vector of a run at a time, by a straight line between the solver's points. */
export function vectorAt(run: SpiceRun, name: string, timeS: number): number {
  const values = run.vectors.get(name);
  if (values === undefined) throw new Error(`no vector ${name}`);
  const { timeS: t } = run;
  let low = 0;
  let high = t.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (t[middle] <= timeS) low = middle;
    else high = middle;
  }
  return values[low] + ((values[high] - values[low]) * (timeS - t[low])) / (t[high] - t[low]);
}

function flat(value: GridValue, points: number, temperatures: number): Float64Array {
  return Float64Array.from({ length: points * temperatures }, (_, p) => {
    if (typeof value === 'number') return value;
    const row = value[Math.floor(p / temperatures)];
    return typeof row === 'number' ? row : row[p % temperatures];
  });
}

/** The cell of a study's description as the simulation takes it. */
export function compile(cell: ChargeCellDescription): CompiledCell {
  const temperatures = cell.temperatureC ?? [25];
  const grid = (value: GridValue) => flat(value, cell.soc.length, temperatures.length);
  return new CompiledCell({
    capacityAh: cell.capacityAh,
    soc: Float64Array.from(cell.soc),
    temperatureC: Float64Array.from(temperatures),
    ocv: { kind: 'table', values: grid(cell.ocvV), interpolation: 'linear' },
    r0Ohm: grid(cell.r0Ohm),
    branches: cell.branches.map((branch) => ({ rOhm: grid(branch.rOhm), tauS: grid(branch.tauS) })),
    arrhenius: cell.arrhenius ?? null,
    entropicVPerK: cell.entropicVPerK === undefined ? null : grid(cell.entropicVPerK),
    thermal: cell.thermal ?? null,
  });
}

/** A charge of these cells in series through the given stages, each watched at its limit. */
export function chargeSetup(
  cells: readonly ChargeCellDescription[],
  stages: ChargeSetup['stages'],
  options: { endCurrentA: number; seriesStepS: number; maxDurationS?: number },
): ChargeSetup {
  return {
    cells: cells.map((cell) => ({
      cell: compile(cell),
      startSoc: cell.startSoc,
      startTemperatureC: cell.startTemperatureC ?? 25,
      voltageLimitV: cell.datasheet.maxVoltageV,
      datasheetVoltageV: cell.datasheet.maxVoltageV,
      ratedCurrentA: cell.datasheet.maxChargeCurrentA,
      minTemperatureC: null,
      maxTemperatureC: null,
      datasheetZones: null,
      bypass: null,
    })),
    stackResistance: { toSenseOhm: 0, beyondSenseOhm: 0 },
    ambientTemperatureC: cells[0].startTemperatureC ?? 25,
    watch: 'per-cell',
    stackVoltageLimitV: cells.reduce((sum, cell) => sum + cell.datasheet.maxVoltageV, 0),
    precharge: null,
    stages,
    endCurrentA: options.endCurrentA,
    taper: 'continuous',
    restAfterS: 0,
    maxDurationS: options.maxDurationS ?? 20_000,
    zones: null,
    zoneHysteresisK: 1,
    supply: null,
    seriesStepS: options.seriesStepS,
    timesAtSoc: [],
    tolerance: DEFAULT_TOLERANCE,
  };
}
