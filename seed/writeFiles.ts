import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Sample } from './instrument.ts';
import { cycleLife } from './life.ts';
import { type CellTruth, makeTruth, scenario } from './scenario.ts';
import { capacityTest, pulseTest, restTest } from './tests.ts';

/** A written file and what a user would say when importing it. */
export interface DemonstrationFile {
  readonly path: string;
  readonly kind: 'record' | 'cell-table' | 'cycle-table';
  readonly testKind: 'capacity' | 'pulse' | 'rest' | null;
  readonly serial: string | null;
}

/** Writes the raw files of the demonstration as instruments would, the truth beside them, and lists the files. */
export function writeDemonstration(folder: string): DemonstrationFile[] {
  mkdirSync(folder, { recursive: true });
  const truth = makeTruth();
  const files: DemonstrationFile[] = [];
  const write = (name: string, text: string, file: Omit<DemonstrationFile, 'path'>): void => {
    const path = join(folder, name);
    writeFileSync(path, text);
    files.push({ path, ...file });
  };
  write('incoming_inspection.csv', inspectionTable(truth), {
    kind: 'cell-table',
    testKind: null,
    serial: null,
  });
  for (const [index, cell] of truth.entries()) {
    write(`capacity_${cell.serial}_25C.csv`, plainTable(capacityTest(cell, index + 1)), {
      kind: 'record',
      testKind: 'capacity',
      serial: cell.serial,
    });
  }
  for (const [index, cell] of truth.entries()) {
    const samples = pulseTest(cell, index + 1);
    const text =
      cell.planted === 'sign-swapped'
        ? plainTable(samples.map((s) => ({ ...s, currentA: -s.currentA })))
        : cell.planted === 'milliamperes'
          ? commaTable(samples)
          : plainTable(samples);
    write(`pulse_${cell.serial}_25C.csv`, text, { kind: 'record', testKind: 'pulse', serial: cell.serial });
  }
  write('rest_three_weeks.csv', restTable(truth), { kind: 'record', testKind: 'rest', serial: null });
  writeFileSync(join(folder, 'truth.json'), `${JSON.stringify({ scenario, cells: truth }, null, 2)}\n`);
  return files;
}

const fixed = (value: number, digits: number): string =>
  value.toFixed(digits).replace(/^-(0(?:\.0*)?)$/, '$1');

function inspectionTable(truth: readonly CellTruth[]): string {
  const rows = truth.map(
    (cell) => `${cell.serial},${cell.massG.toFixed(2)},${(1000 * cell.impedance1kHzOhm).toFixed(3)}`,
  );
  return `serial,mass_g,impedance_1kHz_mOhm\n${rows.join('\n')}\n`;
}

function plainTable(samples: readonly Sample[]): string {
  const rows = samples.map((s) =>
    [fixed(s.timeS, 1), fixed(s.voltageV, 4), fixed(s.currentA, 4), fixed(s.temperatureC, 2)].join(','),
  );
  return `time_s,voltage_V,current_A,temperature_C\n${rows.join('\n')}\n`;
}

/** An instrument with decimal commas, semicolons, a preamble and milliamperes. */
function commaTable(samples: readonly Sample[]): string {
  const comma = (text: string) => text.replace('.', ',');
  const rows = samples.map((s) =>
    [
      comma(fixed(s.timeS, 1)),
      comma(fixed(1000 * s.voltageV, 1)),
      comma(fixed(1000 * s.currentA, 1)),
      comma(fixed(s.temperatureC, 2)),
    ].join(';'),
  );
  return `Bench 2, channel 4\r\nProgram: pulses\r\nTime;Voltage;Current;Temperature\r\ns;mV;mA;°C\r\n${rows.join('\r\n')}\r\n`;
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
  return { path, kind: 'cycle-table', testKind: null, serial: null };
}
