import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { measuredConverter } from '../../fitting/charging/converterMeasured.ts';
import { pointsOfLog } from '../../fitting/charging/pointsOfLog.ts';
import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';
import { runEvaluate } from '../support/runEvaluate.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

/** A converter of ratio 2 with 12 mohm and 25 mA. */
const TRUE_OHM = 0.012;
const TRUE_FIXED_A = 0.025;
const point = (outA: number, outV = 8.1): number[] => [
  outV,
  outA,
  2 * (outV + TRUE_OHM * outA),
  outA / 2 + TRUE_FIXED_A,
];
const lossAt = (outA: number, outV = 8.1): number =>
  TRUE_OHM * outA ** 2 + 2 * TRUE_FIXED_A * (outV + TRUE_OHM * outA);

let test: TestApp;
let folder: string;
beforeAll(async () => {
  test = await openTestApp();
  folder = mkdtempSync(join(tmpdir(), 'gemel-points-'));
});
afterAll(async () => {
  await test.close();
  rmSync(folder, { recursive: true });
});
const send = (text: string, query = '') =>
  request(test.app).post(`/api/v1/operating-points${query}`).set('Content-Type', 'text/csv').send(text);
async function command(text: string, ...words: string[]) {
  const file = join(folder, 'points.csv');
  writeFileSync(file, text);
  return runEvaluate('converter', file, ...words);
}

describe('a table of operating points of a converter', () => {
  const english = `U out (V),I out (A),V in (V),I in (A),Board temp (°C)
${[2, 6].map((outA, i) => [...point(outA), 31 + i].join(',')).join('\n')}
`;

  it('is read with English and German headers, decimal comma and other units alike', async () => {
    const german = `Ausgangsspannung (mV);Ausgangsstrom (A);Eingangsspannung (V);Eingangsstrom (mA);Wandlertemperatur (°C)
${[2, 6]
  .map((outA, i) => {
    const [outV, a, inV, inA] = point(outA);
    return [1000 * outV, a, inV, 1000 * inA, 31 + i]
      .map((value) => String(value).replace('.', ','))
      .join(';');
  })
  .join('\n')}
`;
    const first = await send(english);
    expect(first.status, first.text).toBe(200);
    expect(first.body.points).toHaveLength(2);
    expect(first.body.points[1]).toMatchObject({ outputVoltageV: 8.1, outputCurrentA: 6, temperatureC: 32 });
    const second = await send(german);
    expect(second.status, second.text).toBe(200);
    second.body.points.forEach((one: Record<string, number>, i: number) => {
      for (const [key, value] of Object.entries(first.body.points[i]))
        expect(one[key]).toBeCloseTo(value as number, 12);
    });
  });

  it('gives resistance, fixed loss and, from two points, the loss at a third, each within its interval', async () => {
    const { code, out, err } = await command(english, '--ratio', '2', '--json');
    expect(code, err).toBe(0);
    const found = JSON.parse(out);
    const holds = ({ low, high }: { low: number; high: number }, truth: number) =>
      expect(truth > low && truth < high, `${truth} in ${low} to ${high}`).toBe(true);
    holds(found.outputResistanceOhm, TRUE_OHM);
    holds(found.fixedLossCurrentA, TRUE_FIXED_A);
    const third = found.curve.find(({ outputCurrentA }: { outputCurrentA: number }) => outputCurrentA === 4);
    holds(third.lossW, lossAt(4));
    expect(third.lossW.value).toBeCloseTo(lossAt(4), 9);
    expect(JSON.parse(out).cautions).toContain('watch-each-cell');
    const text = await command(english, '--ratio', '2');
    expect(text.out).toContain('Watch the voltage of each cell, never only that of the stack.');
    expect(text.out).toMatch(/output resistance 12\.00 mohm \(\d+\.\d\d to \d+\.\d\d, 95 %\)/);
  });

  it('says what it takes for the meters, and holds the truth where that is theirs', async () => {
    const assumed = await command(english, '--ratio', '2');
    expect(assumed.out).toContain('assume that the meters’ standard uncertainty is 0.05 % of each reading');
    const stated = ['--reading-error', '0.001', '--voltage-offset', '0.001', '--current-offset', '0.002'];
    const told = await command(english, '--ratio', '2', ...stated);
    expect(told.out).toContain('stated standard uncertainty: 0.1 % of each reading, 1 mV and 2 mA');
    const beyond = await command(english, '--ratio', '2', '--reading-error', '5');
    expect([beyond.code, beyond.err]).toEqual([2, expect.stringContaining('from 0 to 0.1')]);
    const normal = normalSource(seededRandom(11));
    const meters = { readingShare: 0.001, voltageOffsetV: 0, currentOffsetA: 0 };
    const inside = { stated: 0, assumed: 0 };
    const runs = 200;
    for (let run = 0; run < runs; run++) {
      const [outV, outA, inV, inA] = [1, 2, 3, 4].map(() => 1 + meters.readingShare * normal());
      const points = Array.from({ length: 8 }, (_, i) => {
        const a = 1 + (5 * i) / 7;
        return {
          outputVoltageV: outV * 8.1 + 2e-4 * normal(),
          outputCurrentA: outA * a + 5e-4 * normal(),
          inputVoltageV: inV * 2 * (8.1 + TRUE_OHM * a) + 2e-4 * normal(),
          inputCurrentA: inA * (a / 2 + TRUE_FIXED_A) + 5e-4 * normal(),
        };
      });
      const holds = ({ outputResistanceOhm: { low, high } }: ReturnType<typeof measuredConverter>) =>
        TRUE_OHM > low && TRUE_OHM < high ? 1 : 0;
      inside.stated += holds(measuredConverter(2, points, meters));
      inside.assumed += holds(measuredConverter(2, points));
    }
    expect(inside.stated / runs).toBeGreaterThan(0.92);
    // Meters of twice what is assumed: that the answer says so is why.
    expect(inside.assumed / runs).toBeLessThan(0.85);
    const json = await command(english, '--ratio', '2', '--voltage-offset', '0.001', '--json');
    expect(JSON.parse(json.out)).toMatchObject({ assumed: ['readingShare', 'currentOffsetA'] });
  });

  it.each([
    ['a missing input', 'V out,I out\n8,2\n8,6\n', 'bus-voltage', null],
    ['a current of the other sign', 'V out,I out,V in,I in\n8,2,16.1,1.03\n8,-6,16.2,3.03\n', 'I out', 3],
    ['an efficiency above all', 'V out,I out,efficiency\n8,2,98\n8,6,104\n', 'efficiency', 3],
    ['a value that is missing', 'V out,I out,V in,I in\n8,2,16.1,1.03\n8,6,,3.03\n', 'V in', 3],
    [
      'a current that no bench carries',
      'V out,I out,V in,I in\n8,2,16.1,1.03\n8,3.4e38,16.2,3.03\n',
      'I out',
      3,
    ],
    ['one point only', 'V out,I out,V in,I in\n8,2,16.1,1.03\n', null, null],
  ])('is refused for %s, with its place', async (_, text, field, row) => {
    const { status, body } = await send(text);
    expect(status, JSON.stringify(body)).toBe(422);
    expect(body.code).toBe('file-refused');
    if (field !== null) expect(body.errors[0].field).toBe(field);
    if (row !== null) expect(body.errors[0].row).toBe(row);
  });

  it('takes columns that are chosen, and refuses a choice that names none', async () => {
    const text = english.replace('U out (V)', 'Kanal 4 (V)');
    expect((await send(text)).body.errors[0].field).toBe('stack-voltage');
    const chosen = await send(text, '?columns=stack-voltage%3DKanal%204%20(V)');
    expect(chosen.status, chosen.text).toBe(200);
    expect(chosen.body.points[0].outputVoltageV).toBe(8.1);
    const wrong = await send(text, '?columns=nonsense');
    expect(wrong.status).toBe(400);
    expect(wrong.body.errors[0].field).toBe('columns');
  });
});

describe('operating points out of the log of a charge', () => {
  it('satisfy the equations of the converter as the rows do, one for each range of current', () => {
    const normal = normalSource(seededRandom(5));
    const rows = Array.from({ length: 3000 }, (_, t) => {
      const outA = t < 60 ? 0 : t < 1500 ? 6 : 6 * Math.exp(-(t - 1500) / 500);
      const [outV, a, inV, inA] = point(outA, 7.2 + (1.2 * t) / 3000);
      return [outV, a, inV, outA === 0 ? 0 : inA].map((value) => value + 2e-4 * normal());
    });
    const column = (c: number) => Float64Array.from(rows, (row) => row[c]);
    const points = pointsOfLog({
      outputVoltageV: column(0),
      outputCurrentA: column(1),
      inputVoltageV: column(2),
      inputCurrentA: column(3),
      temperatureC: null,
    });
    expect(points.length).toBeGreaterThan(8);
    for (const one of points) {
      const ohm = (one.inputVoltageV / 2 - one.outputVoltageV) / one.outputCurrentA;
      expect(Math.abs(ohm - TRUE_OHM) * one.outputCurrentA).toBeLessThan(1e-4);
      expect(one.inputCurrentA - one.outputCurrentA / 2).toBeCloseTo(TRUE_FIXED_A, 3);
    }
  });
});
