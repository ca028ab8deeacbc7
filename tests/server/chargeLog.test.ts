import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type ChargeLogResult, chargeLogResult } from '../../server/contract/chargeLogResult.ts';
import { runEvaluateCharge } from '../support/runEvaluateCharge.ts';
import {
  type BenchTruth,
  heatHeader,
  logHeader,
  logStudy,
  type StackTruth,
  stackLogRows,
  stackLogText,
  usualBench,
  usualTruth,
  withTemperatures,
} from '../support/stackLog.ts';

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'gemel-log-'));
  writeFileSync(join(folder, 'study.json'), JSON.stringify(logStudy()));
});
afterAll(() => rmSync(folder, { recursive: true }));

/** Runs `gemel evaluate charge` on a log as text and collects what it writes. */
function evaluate(text: string, ...options: string[]) {
  const file = join(folder, 'log.csv');
  writeFileSync(file, text);
  const study = options.includes('--study') ? [] : ['--study', join(folder, 'study.json')];
  return runEvaluateCharge(file, ...study, ...options);
}

async function evaluated(truth: StackTruth, bench: BenchTruth, fit: string): Promise<ChargeLogResult> {
  const { code, out, err } = await evaluate(stackLogText(stackLogRows(truth, bench)), '--fit', fit, '--json');
  expect(code, err).toBe(0);
  return chargeLogResult.parse(JSON.parse(out));
}

const ALL = 'capacity,start-soc,r0,branches';

describe('a measured charge beside the computed one', () => {
  it('says in words which cell deviates, by how much, and which single change explains it', async () => {
    const result = await evaluated(usualTruth, usualBench(3), ALL);
    const [time, cell, change] = result.comparison.verdict;
    expect(time).toMatch(/^Charged \d\.\d % (slower|faster) than computed/);
    expect(cell).toMatch(/^B: 1\d mV above the model from \d+ % to \d+ % SOC\.$/);
    expect(change).toMatch(/^One change explains \d+ % of the difference: R0 of B \+2[45]\.\d %\.$/);
    expect(result.fit?.verdict).toBe('explains-the-log');
    expect(result.conditions.cells.map(({ startSocFrom }) => startSocFrom)).toEqual(['rest', 'rest']);
  });

  it('says in words and units what was fitted, with its 95 % interval, and which of them the log can hardly separate', async () => {
    const { out } = await evaluate(stackLogText(stackLogRows(usualTruth, usualBench(3))), '--fit', ALL);
    expect(out).toMatch(/Fit: the study with these values explains the log \(residual variance \d/);
    expect(out).toMatch(
      / {2}R0, of that in the study of B: 12[3-7]\.\d\d % \(1\d\d\.\d\d to 1\d\d\.\d\d, 95 %\)/,
    );
    expect(out).toMatch(/ {2}Start SOC of A: 1\d\.\d+ % \(/);
    expect(out).not.toMatch(/r0Factor|startSoc|branchFactor|does-not|explains-the-log|not-logged/);
  });

  it('recovers the parameters of both cells within their 95 % intervals', async () => {
    const truths = new Map<string, number>([
      ['capacityAh A', 3],
      ['capacityAh B', 3],
      ['startSoc A', 0.12],
      ['startSoc B', 0.1],
      ['r0Factor A', 1],
      ['r0Factor B', 1.25],
      ['branchFactor A', 1],
      ['branchFactor B', 1],
    ]);
    let [inside, all] = [0, 0];
    for (let seed = 1; seed <= 6; seed++) {
      const { fit } = await evaluated(usualTruth, usualBench(seed), ALL);
      for (const { quantity, cell, low, high } of fit?.estimates ?? []) {
        const truth = truths.get(`${quantity} ${cell}`);
        if (truth === undefined) continue;
        all += 1;
        if (low !== null && high !== null && truth >= low && truth <= high) inside += 1;
      }
      expect(fit?.singleChanges[0]).toMatchObject({ quantity: 'r0Factor', cell: 'B' });
    }
    expect(all).toBe(48);
    // 95 % of 48 is 45; fewer than 41 has a chance below 1 %.
    expect(inside).toBeGreaterThanOrEqual(41);
  });

  it('finds the resistances of connections and converter and the fixed loss', async () => {
    const { supply } = await evaluated(usualTruth, usualBench(5), 'r0');
    for (const [estimate, truth] of [
      [supply.stackOhm, usualTruth.stackOhm],
      [supply.converterOhm, usualTruth.converterOhm],
      [supply.fixedLossA, usualTruth.fixedLossA],
    ] as const) {
      expect(estimate.low).toBeLessThan(truth);
      expect(estimate.high).toBeGreaterThan(truth);
    }
    expect(supply.cableOhm).toEqual({ value: null, low: null, high: null, reason: 'not-logged' });
  });

  it('names a voltage channel that is off as the cause, and gives no intervals of its cell', async () => {
    const truth = { ...usualTruth, startSoc: [0.1, 0.1], r0Factor: [1, 1] };
    for (const read of [(volts: number) => volts + 0.015, (volts: number) => 1.003 * volts]) {
      const rows = stackLogRows(truth, usualBench(4)).map((row) =>
        row.map((value, column) => (column === 2 ? read(value) : value)),
      );
      const { out } = await evaluate(stackLogText(rows), '--fit', ALL, '--json');
      const { fit, comparison } = chargeLogResult.parse(JSON.parse(out));
      expect(fit?.singleChanges[0]).toMatchObject({ quantity: 'voltageOffsetV', cell: 'B' });
      expect(comparison.verdict.join(' ')).toMatch(
        /voltage offset of B comes out at \+1\d\.\d mV, more than its stated uncertainty allows/,
      );
      for (const { quantity, cell, low, reason } of fit?.estimates ?? [])
        if (cell === 'B' && /capacity|start|Factor/i.test(quantity))
          expect({ low, reason }).toEqual({ low: null, reason: 'voltage-channel-off' });
        else if (quantity === 'capacityAh') expect(low).not.toBeNull();
    }
  });

  it('gives no interval and names no cause where the model is not that of the log', async () => {
    const study = logStudy();
    const other = {
      ...study,
      cells: study.cells.map((cell) => ({
        ...cell,
        // The curve of another age: 12 mV off, in a bend.
        ocvV: (cell.ocvV as number[]).map((v, i) => v + 0.012 * Math.sin((1.5 * Math.PI * i) / 20)),
      })),
    };
    const { out } = await evaluate(
      stackLogText(stackLogRows(usualTruth, usualBench(3), other)),
      '--fit',
      ALL,
      '--json',
    );
    const { fit, comparison } = chargeLogResult.parse(JSON.parse(out));
    expect(fit?.verdict).toBe('does-not-explain-the-log');
    for (const { low, high, standardError, reason } of fit?.estimates ?? []) {
      expect([low, high, standardError]).toEqual([null, null, null]);
      expect(reason).not.toBeNull();
    }
    for (const cell of fit?.study?.cells ?? []) expect(cell.uncertainty?.capacityRelative).toBeUndefined();
    expect(comparison.verdict.join(' ')).not.toContain('One change explains');
    expect(comparison.verdict.join(' ')).toContain('no cause is named, and its values have no intervals');
  });

  it('gives wider intervals where the measured voltages show a larger error of the curve than is stated, and says so', async () => {
    const study = logStudy();
    const stated = { ocvV: 0.002 };
    writeFileSync(
      join(folder, 'stated.json'),
      JSON.stringify({ ...study, cells: study.cells.map((cell) => ({ ...cell, uncertainty: stated })) }),
    );
    const fitted = async (tiltV: number) => {
      // A curve that is tilted: capacity and start SOC take most of it up.
      const cells = study.cells.map((cell) => ({
        ...cell,
        ocvV: (cell.ocvV as number[]).map((v, i) => v + tiltV * (i / 20 - 0.55)),
      }));
      const text = stackLogText(stackLogRows(usualTruth, usualBench(3), { ...study, cells }));
      const { out } = await evaluate(
        ...([text, '--study', join(folder, 'stated.json'), '--fit', ALL, '--json'] as const),
      );
      const { fit, comparison } = chargeLogResult.parse(JSON.parse(out));
      const of = (quantity: string) => {
        const found = fit?.estimates.find((one) => one.quantity === quantity && one.cell === 'A');
        return { value: found?.value ?? 0, standardError: found?.standardError ?? 0 };
      };
      return { capacity: of('capacityAh'), start: of('startSoc'), verdict: comparison.verdict.join(' ') };
    };
    const right = await fitted(0.004);
    expect(right.capacity.standardError).toBeLessThan(0.03);
    expect(right.verdict).not.toContain('larger error of the open-circuit curve');
    const wrong = await fitted(0.045);
    expect(Math.abs(wrong.capacity.value / 3 - 1)).toBeGreaterThan(0.05);
    for (const [{ value, standardError }, truth] of [
      [wrong.capacity, 3],
      [wrong.start, 0.12],
    ] as const)
      expect(Math.abs(value - truth)).toBeLessThan(3.5 * standardError);
    expect(wrong.verdict).toContain('larger error of the open-circuit curve of A than the 2.0 mV stated');
  });

  it('gives R0 and branches together at stated durations, within their intervals', async () => {
    const { fit } = await evaluated(usualTruth, usualBench(3), ALL);
    const [r0, ...branches] = [0.028, 0.008, 0.012];
    const tau = [8, 300];
    for (const { cell, durationS, low, high } of fit?.resistances ?? []) {
      const slow = branches.reduce((sum, ohm, b) => sum + ohm * (1 - Math.exp(-durationS / tau[b])), 0);
      const truth = ((cell === 'B' ? 1.25 : 1) * r0 + slow) / (r0 + slow);
      // R0 rises by up to 25 % towards the empty cell, where the log begins.
      expect(low).toBeLessThan(truth + 0.002);
      expect(high).toBeGreaterThan(truth);
    }
    expect(fit?.resistances?.map(({ durationS }) => durationS)).toEqual([10, 60, 600, 10, 60, 600]);
  });

  it('counts the capacity from emptied to full where that is stated, and says why where it cannot', async () => {
    const counted = async (text: string, ...options: string[]) =>
      chargeLogResult.parse(JSON.parse((await evaluate(text, '--json', ...options)).out)).countedCapacity;
    const rows = stackLogRows(usualTruth, usualBench(3));
    const text = stackLogText(rows);
    expect(await counted(text)).toMatchObject({ valueAh: null, reason: 'start-not-stated-empty' });
    const found = await counted(text, '--starts-empty');
    // From 12 % of 3 Ah to full.
    expect(found).toMatchObject({ of: 'stack', reason: null });
    expect(found?.low ?? 3).toBeLessThan(0.88 * 3);
    expect(found?.high ?? 0).toBeGreaterThan(0.88 * 3);
    const early = stackLogText(rows.slice(0, 1800));
    expect(await counted(early, '--starts-empty')).toMatchObject({
      valueAh: null,
      reason: 'does-not-end-full',
    });
    const late = stackLogText(rows.slice(300));
    expect(await counted(late, '--starts-empty')).toMatchObject({
      valueAh: null,
      reason: 'begins-under-current',
    });
  });

  it('agrees with the computed charge where the cells are those of the study', async () => {
    const truth = { ...usualTruth, startSoc: [0.1, 0.1], r0Factor: [1, 1] };
    const { comparison } = await evaluated(truth, { ...usualBench(7), voltageOffsetV: 0 }, ALL);
    expect(comparison.verdict[0]).toMatch(/^Charged in the computed time/);
    expect(comparison.verdict[1]).toMatch(/^All cell voltages agree with the model within 0\.\d mV rms\.$/);
  });
});

describe('a charge that was interrupted', () => {
  /** A pause behind the first 1500 rows: the voltage falls to about that of the rest at once. */
  const paused = (pauseS: number): number[][] => {
    const rows = stackLogRows(usualTruth, usualBench(6));
    const rest = Array.from({ length: pauseS }, (_, i) => [
      1500 + i,
      ...rows[1499].slice(1, 3).map((volts) => volts - 0.12 - 0.02 * (1 - Math.exp(-i / 300))),
      0,
      ...rows[1499].slice(4),
    ]);
    return [
      ...rows.slice(0, 1500),
      ...rest,
      ...rows.slice(1500).map(([t, ...values]) => [t + pauseS, ...values]),
    ];
  };
  const endOf = async (rows: number[][]) => {
    const { code, out, err } = await evaluate(stackLogText(rows), '--json');
    expect(code, err).toBe(0);
    const { comparison, warnings } = chargeLogResult.parse(JSON.parse(out));
    return { endS: comparison.timesS.end.measured ?? 0, warnings: warnings.join(' ') };
  };

  it('is compared by its time under current, and says for how long it was interrupted', async () => {
    const whole = await endOf(paused(0));
    const interrupted = await endOf(paused(600));
    expect(Math.abs(interrupted.endS - whole.endS)).toBeLessThan(2);
    expect(interrupted.warnings).toContain('the charge was interrupted for 10.0 min in all');
    expect(whole.warnings).not.toContain('interrupted');
  });

  it('may stop writing rows in the pause, but not before the current is off or until it is on again', async () => {
    const whole = await endOf(paused(0));
    const without = (from: number, to: number) => paused(600).filter(([t]) => t < from || t >= to);
    const seldom = await endOf(without(1505, 2095));
    expect(Math.abs(seldom.endS - whole.endS)).toBeLessThan(2);
    for (const rows of [without(1500, 2095), without(1505, 2100), without(1500, 2100)]) {
      const { code, err } = await evaluate(stackLogText(rows));
      expect(code).toBe(1);
      expect(err).toMatch(
        /row 1\d\d\d, column "Time \(s\)".*Nothing was logged for \d+ s under current or while it was switched/,
      );
      expect(err).toContain('a row without current before and after a pause');
    }
  });
});

it('takes a discharge in which a cold cell rises by its own warmth', async () => {
  const rows = stackLogRows(usualTruth, usualBench(2));
  const last = rows[rows.length - 1];
  const discharge = Array.from({ length: 900 }, (_, i) => [
    last[0] + 1 + i,
    ...last.slice(1, 3).map((volts) => volts - 0.3 + 0.08 * (1 - Math.exp(-i / 200))),
    -3,
    ...last.slice(4),
  ]);
  const { code, err } = await evaluate(stackLogText([...rows, ...discharge]));
  expect(code, err).toBe(0);
});

it('reads temperatures in °F and shows the unit, and refuses a temperature unit that it does not know', async () => {
  const celsius = withTemperatures(
    stackLogRows(usualTruth, usualBench(2)),
    usualTruth,
    { heatCapacityJPerK: 45, heatTransferWPerK: 0.1, seed: 2 },
    logStudy(),
  );
  const fahrenheit = celsius.map((row) => [...row.slice(0, 7), ...row.slice(7).map((t) => 32 + 1.8 * t)]);
  const inF = await evaluate(stackLogText(fahrenheit, heatHeader.replaceAll('°C', '°F')), '--json');
  const inC = await evaluate(stackLogText(celsius, heatHeader), '--json');
  expect(inF.code, inF.err).toBe(0);
  const [read, same] = [inF, inC].map(({ out }) => chargeLogResult.parse(JSON.parse(out)));
  expect(read.columns.filter(({ unit }) => unit === '°F').map(({ role }) => role)).toEqual([
    'cell-temperature-1',
    'cell-temperature-2',
    'ambient-temperature',
  ]);
  expect(read.conditions.ambientTemperatureC).toBeCloseTo(25, 9);
  expect(read.series.cells[0].measuredC?.at(-1)).toBeCloseTo(same.series.cells[0].measuredC?.at(-1) ?? 0, 9);
  const unknown = await evaluate(stackLogText(celsius, heatHeader.replaceAll('°C', 'F')));
  expect(unknown.code).toBe(1);
  expect(unknown.err).toMatch(/column "T cell 1 \(F\)".*Not a unit of temperature.*°C, K, °F/);
});

describe('a log that cannot be right is refused with its row', () => {
  const rows = () => stackLogRows(usualTruth, usualBench(2));

  it.each([
    [
      'a gap under load',
      () => stackLogText(rows().filter((row) => row[0] < 500 || row[0] > 900)),
      /row 502, column "Time \(s\)".*Nothing was logged for 402 s under current/,
    ],
    [
      'a clock that restarts',
      () => stackLogText(rows().map((row, i) => [i < 800 ? row[0] : row[0] - 700, ...row.slice(1)])),
      /row 802, column "Time \(s\)".*clock does not go forward/,
    ],
    [
      'cell columns that change places',
      () => stackLogText(rows().map((row, i) => (i < 900 ? row : [row[0], row[2], row[1], ...row.slice(3)]))),
      /row 902.*cells 1 and 2 change places/,
    ],
    [
      'a current that runs against the voltage',
      () => stackLogText(rows().map((row) => [...row.slice(0, 3), -row[3], ...row.slice(4)])),
      /voltages rise while the current discharges.*--current-sign discharge-positive/,
    ],
    [
      'a current whose sign turns round in mid-log',
      () =>
        stackLogText(
          rows().map((row, i) => (i < 800 ? row : [...row.slice(0, 3), -row[3], ...row.slice(4)])),
        ),
      /row 802, column "I stack \(A\)".*Every cell voltage rises for \d+ s while the current discharges/,
    ],
    [
      'an impossible current',
      () =>
        stackLogText(
          rows().map((row, i) => (i === 700 ? [...row.slice(0, 3), 3.4e38, ...row.slice(4)] : row)),
        ),
      /row 702, column "I stack \(A\)", value "3.4e\+38": A current that no bench carries/,
    ],
    [
      'a missing value',
      () => stackLogText(rows().map((row, i) => (i === 600 ? [row[0], Number.NaN, ...row.slice(2)] : row))),
      /row 602, column "V cell 1 \(V\)", value "NaN": The value is missing/,
    ],
  ])('%s', async (_, text, message) => {
    const { code, err } = await evaluate(text());
    expect(code).toBe(1);
    expect(err).toMatch(message);
  });

  it('reads the same log with German headers, decimal comma and discharge-positive current alike', async () => {
    const text = stackLogText(
      rows().map((row) => [...row.slice(0, 3), row[3] === 0 ? 0 : -row[3], ...row.slice(4)]),
      'Zeit (s),Spannung Zelle 1 (V),Spannung Zelle 2 (V),Ladestrom (A),Ausgangsspannung (V),Eingangsspannung (V),Eingangsstrom (A)',
    )
      .replaceAll(',', ';')
      .replaceAll('.', ',');
    const german = await evaluate(text, '--current-sign', 'discharge-positive', '--fit', 'r0', '--json');
    const english = await evaluate(stackLogText(rows()), '--fit', 'r0', '--json');
    expect(german.code, german.err).toBe(0);
    expect(JSON.parse(german.out).fit).toEqual(JSON.parse(english.out).fit);
    const roles = (out: string) => JSON.parse(out).columns.map(({ role }: { role: string }) => role);
    expect(roles(german.out)).toEqual(roles(english.out));
    expect(roles(german.out)).toHaveLength(logHeader.split(',').length);
  });
});
