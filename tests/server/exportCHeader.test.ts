import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import type { ChargeCellDescription } from '../../server/contract/chargeStudy.ts';
import { cHeader } from '../../server/export/cHeader.ts';
import { type CircuitSubject, circuitSubjectOf } from '../../server/export/circuitSubject.ts';
import { fixedPoint } from '../../server/export/fixedPoint.ts';
import { ExportRefused } from '../../server/export/refusal.ts';
import { isMissing } from '../support/required.ts';
import { hostileName, stackFixture } from './exportFixture.ts';

const compiler = spawnSync('gcc', ['--version']).status === 0;

/** Compiles a program that includes the header, with every warning an error, runs it and returns what it prints. */
function compileAndRun(header: string, program: string): string {
  const folder = mkdtempSync(join(tmpdir(), 'gemel-c-'));
  try {
    writeFileSync(join(folder, 'parameters.h'), header);
    writeFileSync(join(folder, 'main.c'), program);
    const binary = join(folder, 'main');
    const flags = [
      '-std=c99',
      '-Wall',
      '-Wextra',
      '-Werror',
      '-pedantic',
      '-o',
      binary,
      join(folder, 'main.c'),
    ];
    const compiled = spawnSync('gcc', flags, { encoding: 'utf8' });
    if (compiled.status !== 0) throw new Error(compiled.stderr);
    const run = spawnSync(binary, { encoding: 'utf8' });
    if (run.status !== 0) throw new Error(`the program ended with ${run.status}`);
    return run.stdout;
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/** A program that prints each table of the header as JSON: raw numbers, scale and bytes. */
function printingProgram(header: string): string {
  const tables = [...header.matchAll(/static const u?int\d\d_t (\w+)\[/g)].map((match) => match[1]);
  const names = [...header.matchAll(/static const char (\w+)\[/g)].map((match) => match[1]);
  const prints = tables.map(
    (table, i) => `
  printf("%s\\"${table}\\":{\\"scale\\":%ld,\\"bytes\\":%lu,\\"raw\\":[", ${i === 0 ? '""' : '","'},
    (long)${table.toUpperCase()}_SCALE, (unsigned long)sizeof(${table}));
  for (i = 0; i < sizeof(${table}) / sizeof(${table}[0]); i++) printf("%s%ld", i ? "," : "", (long)${table}[i]);
  printf("]}");`,
  );
  const strings = names.map(
    (name) => `
  printf(",\\"${name}\\":[");
  for (i = 0; i + 1 < sizeof(${name}); i++) printf("%s%u", i ? "," : "", (unsigned)(unsigned char)${name}[i]);
  printf("]");`,
  );
  return `#include <stdio.h>
#include "parameters.h"
#include "parameters.h"
int main(void) {
  size_t i;
  printf("{");${prints.join('')}${strings.join('')}
  printf("}\\n");
  return 0;
}
`;
}

type Printed = Record<string, { scale: number; bytes: number; raw: number[] }> & Record<string, unknown>;

const subject = circuitSubjectOf(stackFixture());

describe.skipIf(isMissing('gcc', compiler, 'apt-get install gcc'))('the C header', () => {
  const header = cHeader(subject);
  const printed = JSON.parse(compileAndRun(header, printingProgram(header))) as Printed;
  const tables = Object.entries(printed).filter(([, table]) => 'raw' in (table as object));

  it('compiles as C99 with every warning an error, included twice, and its numbers are those of the parameters', () => {
    const prefixes = Object.keys(printed)
      .filter((key) => key.endsWith('_name'))
      .map((key) => key.slice(0, -5));
    expect(prefixes).toHaveLength(2);
    subject.cells.forEach((cell, i) => {
      const expected: Record<string, readonly number[]> = {
        soc: cell.soc,
        ocv: cell.ocvV as number[],
        r0: cell.r0Ohm as number[],
        r1: cell.branches[0].rOhm as number[],
        tau1: cell.branches[0].tauS as number[],
        r2: cell.branches[1].rOhm as number[],
        tau2: cell.branches[1].tauS as number[],
      };
      for (const [name, values] of Object.entries(expected)) {
        const table = printed[`${prefixes[i]}_${name}`];
        expect(table.raw).toHaveLength(values.length);
        table.raw.forEach((raw, k) => {
          expect(Math.abs(raw / table.scale - values[k])).toBeLessThanOrEqual(0.5 / table.scale + 1e-15);
          expect(Math.abs(raw / table.scale - values[k])).toBeLessThanOrEqual(1e-4 * Math.abs(values[k]));
        });
      }
    });
  });

  it('states the bytes that its tables take', () => {
    const bytes = tables.reduce((sum, [, table]) => sum + (table as { bytes: number }).bytes, 0);
    expect(header).toContain(`Tables take ${bytes} bytes.`);
    expect(header).toMatch(new RegExp(`_TABLE_BYTES ${bytes}u`));
  });

  it('keeps names with quotes, comment ends, line breaks and other alphabets byte for byte', () => {
    const name = Object.entries(printed).find(([key]) => key.endsWith('_name'))?.[1] as unknown as number[];
    expect(Buffer.from(name).toString('utf8')).toBe(hostileName);
  });

  it('holds a table over SOC and temperature with the temperatures side by side', () => {
    const [first] = subject.cells;
    const cell: ChargeCellDescription = {
      ...first,
      name: 'two temperatures',
      soc: [0, 0.5, 1],
      temperatureC: [-10, 25],
      ocvV: [3, 3.7, 4.2],
      r0Ohm: [
        [0.05, 0.02],
        [0.04, 0.018],
        [0.045, 0.019],
      ],
      branches: [],
      entropicVPerK: [-1.5e-4, 0, 2e-4],
    };
    const one: CircuitSubject = { ...subject, cells: [cell], notes: [[]] };
    const text = cHeader(one);
    const read = JSON.parse(compileAndRun(text, printingProgram(text))) as Printed;
    const table = read.cell_two_temperatures_r0;
    expect(table.raw.map((raw) => raw / table.scale)).toEqual([0.05, 0.02, 0.04, 0.018, 0.045, 0.019]);
    const temperature = read.cell_two_temperatures_temperature;
    expect(temperature.raw.map((raw) => raw / temperature.scale)).toEqual([-10, 25]);
    const entropic = read.cell_two_temperatures_entropic;
    expect(entropic.raw.map((raw) => raw / entropic.scale)).toEqual([-1.5e-4, -1.5e-4, 0, 0, 2e-4, 2e-4]);
  });
});

describe('numbers in fixed point', () => {
  it('takes 16 bits where they hold every value to 1 part in 10000, else 32', () => {
    expect(fixedPoint([3.2, 4.2], 'ocv')).toMatchObject({
      cType: 'uint16_t',
      scale: 10_000,
      raw: [32_000, 42_000],
    });
    expect(fixedPoint([0.000123456, 4.2], 'x')).toMatchObject({
      cType: 'uint32_t',
      scale: 1e9,
      raw: [123_456, 4.2e9],
    });
    expect(fixedPoint([-1, 1], 'x')).toMatchObject({ cType: 'int16_t', scale: 10_000 });
  });

  it('rounds halves away from zero', () => {
    expect(fixedPoint([-32767.5, 32766.5], 'x').raw).toEqual([-327675000, 327665000]);
    expect(fixedPoint([60000.5, 60001.4999], 'x').raw.slice(0, 1)).toEqual([60001]);
  });

  it('refuses what 32 bits cannot hold and what is not a number', () => {
    expect(() => fixedPoint([1e-9, 1e3], 'r1')).toThrow(ExportRefused);
    expect(() => fixedPoint([1e-9, 1e3], 'r1')).toThrow('r1: values up to 1000; 32-bit integers cannot hold');
    expect(() => fixedPoint([Number.NaN], 'r1')).toThrow('r1: NaN; a finite number is needed');
  });
});
