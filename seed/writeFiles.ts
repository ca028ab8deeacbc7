import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Sample } from './instrument.ts';
import { cycleLife } from './life.ts';
import { type CellTruth, makeTruth, scenario } from './scenario.ts';
import { capacityTest, insertionTest, probeReadingOhm, pulseTest, restTest, slowTest } from './tests.ts';

/** A written file and what a user would say when importing it. */
export interface DemonstrationFile {
  readonly path: string;
  readonly kind: 'record' | 'cell-table' | 'cycle-table';
  readonly testKind: 'capacity' | 'pulse' | 'rest' | null;
  readonly serial: string | null;
  readonly temperatureC: number;
  /** At which SOC the pulse records begin. */
  readonly startSoc?: number;
}

/** Writes the raw files of the demonstration as instruments would, the truth beside them, and lists the files. */
export function writeDemonstration(folder: string): DemonstrationFile[] {
  mkdirSync(folder, { recursive: true });
  const truth = makeTruth();
  const files: DemonstrationFile[] = [];
  const write = (
    name: string,
    text: string,
    file: Partial<DemonstrationFile> & Pick<DemonstrationFile, 'kind'>,
  ): void => {
    const path = join(folder, name);
    writeFileSync(path, text);
    files.push({ path, testKind: null, serial: null, temperatureC: scenario.temperatureC, ...file });
  };
  const record = { kind: 'record' } as const;
  write('incoming_inspection.csv', inspectionTable(truth), { kind: 'cell-table' });
  const { number: slowNumber } = scenario.slowTest;
  const slowCell = truth[slowNumber - 1];
  write(`slow_${slowCell.serial}_25C.csv`, plainTable(slowTest(slowCell, slowNumber), begun('slow', 0)), {
    ...record,
    testKind: 'capacity',
    serial: slowCell.serial,
  });
  for (const [index, { serial }] of truth.entries()) {
    const text = plainTable(capacityTest(truth[index], index + 1), begun('capacity', index));
    write(`capacity_${serial}_25C.csv`, text, { ...record, testKind: 'capacity', serial });
  }
  const pulses = { ...record, testKind: 'pulse', startSoc: 1 } as const;
  for (const [index, { serial }] of truth.entries()) {
    const text = pulseTable(truth[index], pulseTest(truth[index], index + 1), begun('pulses', index));
    write(`pulse_${serial}_25C.csv`, text, { ...pulses, serial });
  }
  for (const [i, { setC, realC, cells }] of scenario.temperatureTests.entries()) {
    for (const [place, number] of cells.entries()) {
      const cell = truth[number - 1];
      const samples = pulseTest(cell, number, { realC, index: i + 1 });
      const text = plainTable(samples, begun('temperatures', 8 * i + place));
      const { serial } = cell;
      write(`pulse_${serial}_${setC}C.csv`, text, { ...pulses, serial, temperatureC: setC });
    }
  }
  write('rest_three_weeks.csv', restTable(truth), { ...record, testKind: 'rest' });
  write('repeated_pulses_25C.csv', repeatedPulses(truth), { ...pulses, startSoc: 0.5 });
  write('repeated_impedance.csv', repeatedImpedance(truth), { kind: 'cell-table' });
  writeFileSync(join(folder, 'truth.json'), `${JSON.stringify({ scenario, cells: truth }, null, 2)}\n`);
  return files;
}

/** A pulse record in the dialect of the tester that the cell was on. */
function pulseTable(cell: CellTruth, samples: readonly Sample[], start: string): string {
  if (cell.planted === 'milliamperes') return commaTable(samples, start);
  return plainTable(
    cell.planted === 'sign-swapped' ? samples.map((s) => ({ ...s, currentA: -s.currentA })) : samples,
    start,
  );
}

/** The day of January on which each kind of test begins; the slow one runs two days. */
const firstDay = { slow: 12, capacity: 13, pulses: 19, temperatures: 26 } as const;
const channels = 8;

/** When the bench began a test, in UTC: eight channels a day, started a minute after another. */
function begun(kind: keyof typeof firstDay, index: number): string {
  const day = firstDay[kind] + Math.floor(index / channels);
  return new Date(Date.UTC(2026, 0, day, 8, index % channels)).toISOString().slice(0, 19).replace('T', ' ');
}

const fixed = (value: number, digits: number): string =>
  value.toFixed(digits).replace(/^-(0(?:\.0*)?)$/, '$1');

function inspectionTable(truth: readonly CellTruth[]): string {
  const rows = truth.map(
    (cell, index) =>
      `${cell.serial},${cell.massG.toFixed(2)},${(1000 * probeReadingOhm(cell, index + 1, 0)).toFixed(3)}`,
  );
  return `serial,mass_g,impedance_1kHz_mOhm\n${rows.join('\n')}\n`;
}

function plainTable(samples: readonly Sample[], start: string): string {
  const rows = samples.map((s) =>
    [fixed(s.timeS, 1), fixed(s.voltageV, 4), fixed(s.currentA, 4), fixed(s.temperatureC, 2)].join(','),
  );
  return `started ${start} UTC\ntime_s,voltage_V,current_A,temperature_C\n${rows.join('\n')}\n`;
}

/** An instrument with decimal commas, semicolons, a preamble and milliamperes. */
function commaTable(samples: readonly Sample[], start: string): string {
  const comma = (text: string) => text.replace('.', ',');
  const rows = samples.map((s) =>
    [
      comma(fixed(s.timeS, 1)),
      comma(fixed(1000 * s.voltageV, 1)),
      comma(fixed(1000 * s.currentA, 1)),
      comma(fixed(s.temperatureC, 2)),
    ].join(';'),
  );
  return `Bench 2, channel 4\r\nProgram: pulses\r\nStart: ${start}\r\nTime;Voltage;Current;Temperature\r\ns;mV;mA;°C\r\n${rows.join('\r\n')}\r\n`;
}

function restTable(truth: readonly CellTruth[]): string {
  const rows: string[] = [];
  for (const [index, cell] of truth.entries()) {
    for (const s of restTest(cell, index + 1)) {
      rows.push(
        `${cell.serial},${fixed(s.timeS / 3600, 1)},${fixed(s.voltageV, 4)},0,${fixed(s.temperatureC, 2)}`,
      );
    }
  }
  return `serial,time_h,voltage_V,current_A,temperature_C\n${rows.join('\n')}\n`;
}

/** Every insertion of every repeated cell, in the order in which an operator goes round: all cells once, then again. */
function rounds(truth: readonly CellTruth[]): { cell: CellTruth; number: number; repeat: number }[] {
  return Array.from({ length: scenario.repeats }, (_, i) =>
    scenario.repeatedCells.map((number) => ({ cell: truth[number - 1], number, repeat: i + 1 })),
  ).flat();
}

/** The pulses of repeated insertions in one file: a column for the cell and one for the test. */
function repeatedPulses(truth: readonly CellTruth[]): string {
  const rows = rounds(truth).flatMap(({ cell, number, repeat }) =>
    insertionTest(cell, number, repeat).map(
      (s) =>
        `${cell.serial},${repeat},${fixed(s.timeS, 1)},${fixed(s.voltageV, 4)},${fixed(s.currentA, 4)},${fixed(s.temperatureC, 2)}`,
    ),
  );
  return `serial,test_no,time_s,voltage_V,current_A,temperature_C\n${rows.join('\n')}\n`;
}

/** The 1 kHz meter's list of repeated insertions: a row for each. */
function repeatedImpedance(truth: readonly CellTruth[]): string {
  const rows = rounds(truth).map(
    ({ cell, number, repeat }) =>
      `${cell.serial},${repeat},${(1000 * probeReadingOhm(cell, number, repeat)).toFixed(3)}`,
  );
  return `serial,round,impedance_1kHz_mOhm\n${rows.join('\n')}\n`;
}

/** Writes the cycle table of the cells of built stacks. */
export function writeCycling(folder: string, serials: readonly string[]): DemonstrationFile {
  const path = join(folder, 'cycling.csv');
  const rows = makeTruth().flatMap((cell, index) =>
    serials.includes(cell.serial)
      ? cycleLife(cell, index + 1, 620).map(
          (row) =>
            `${row.serial},${row.cycle},${fixed(row.capacityAh, 4)},${fixed(1000 * row.resistanceOhm, 3)},${fixed(row.temperatureC, 1)}`,
        )
      : [],
  );
  writeFileSync(
    path,
    `serial,cycle,discharge_capacity_Ah,internal_resistance_mOhm,temperature_avg_C\n${rows.join('\n')}\n`,
  );
  return { path, kind: 'cycle-table', testKind: null, serial: null, temperatureC: scenario.temperatureC };
}
