import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { simulateCharge } from '../../fitting/charging/simulateCharge.ts';
import { branch, charged, linearCell, row, setupOf } from '../fitting/charging/builders.ts';
import { sharedIsMissing, sharedPath } from '../support/required.ts';

/**
 * Charges of cell B0005 predicted from the cell's other records. Source: B. Saha and K. Goebel, "Battery Data Set", NASA Ames
 * Prognostics Center of Excellence, 2007 (public domain); 1.5 A to 4.2 V, then constant voltage to 20 mA.
 *
 * Of each charge only its setting is used (current, surroundings, start after a discharge to 2.7 V). From other records come: the
 * capacity and the shape of the voltage (the discharge at 2 A next to it), the ohmic and charge-transfer resistance (the
 * impedance runs next to it), and the whole resistance, by which charge and discharge curves of the same cell lie apart, as
 * an exponential against the number of discharges through the other two charges on record. For the charge between these two
 * that is an interpolation; for the other two it is an extrapolation past anything measured, and less is promised.
 */
const FOLDER = 'datasets/nasa-pcoe';
const CHARGES = [
  { charge: 2, discharge: 1 },
  { charge: 85, discharge: 84 },
  { charge: 168, discharge: 168 },
];
const LIMIT_V = 4.2;
const RATED_AH = 2;

interface Run {
  readonly timeS: number[];
  readonly voltageV: number[];
  readonly currentA: number[];
  readonly testId: number;
  /** Charge moved since the start, Ah, without sign. */
  readonly movedAh: number[];
}

function table(file: string): Record<string, string>[] {
  const [head, ...lines] = readFileSync(sharedPath(`${FOLDER}/${file}`), 'utf8')
    .trim()
    .split('\n');
  const names = head.split(',');
  return lines.map((line) => Object.fromEntries(line.split(',').map((value, c) => [names[c], value])));
}

function runOf(file: string, key: string, index: number): Run {
  const rows = table(file).filter((r) => Number(r[key]) === index);
  const column = (name: string) => rows.map((r) => Number(r[name]));
  const run = { timeS: column('time_s'), voltageV: column('voltage_V'), currentA: column('current_A') };
  const movedAh = [0];
  for (let k = 1; k < rows.length; k++) {
    const mean = (run.currentA[k] + run.currentA[k - 1]) / 2;
    movedAh.push(movedAh[k - 1] + (Math.abs(mean) * (run.timeS[k] - run.timeS[k - 1])) / 3600);
  }
  return { ...run, movedAh, testId: Number(rows[0].test_id) };
}

/** Under load until the voltage first falls below 2.7 V; the first samples are at rest. */
function discharge(index: number) {
  const run = runOf('discharge_series_B0005.csv', 'discharge_index', index);
  const cut = run.voltageV.findIndex((voltage, k) => voltage < 2.7 && run.timeS[k] > 100);
  const start = run.currentA.findIndex((current) => current < -1.9);
  const capacityAh = run.movedAh[cut] - run.movedAh[start];
  const voltageAt = (soc: number) => {
    const moved = run.movedAh[start] + (1 - soc) * capacityAh;
    const k = Math.min(
      Math.max(
        run.movedAh.findIndex((value) => value >= moved),
        start + 1,
      ),
      cut,
    );
    const a = (moved - run.movedAh[k - 1]) / (run.movedAh[k] - run.movedAh[k - 1]);
    return run.voltageV[k - 1] + a * (run.voltageV[k] - run.voltageV[k - 1]);
  };
  const mean =
    run.currentA.slice(start + 1, cut).reduce((sum, current) => sum - current, 0) / (cut - start - 1);
  return { run, cut, capacityAh, voltageAt, currentA: mean };
}

function charge(index: number) {
  const run = runOf('charge_series_B0005.csv', 'charge_index', index);
  // The first samples are a start-up artefact of the bench.
  const start = run.timeS.findIndex((time, k) => time > 3 && run.currentA[k] > 1.4);
  const atLimit = run.voltageV.findIndex((voltage, k) => k > start && voltage >= LIMIT_V - 0.001);
  const constant = run.currentA.slice(start, atLimit);
  return {
    run,
    start,
    atLimit,
    currentA: constant.reduce((sum, current) => sum + current, 0) / constant.length,
  };
}

/** Distance of the charge and the discharge curve at the same SOC over both currents, mean of 20 to 50 % SOC. */
function wholeResistanceOhm(chargeIndex: number, dischargeIndex: number): number {
  const down = discharge(dischargeIndex);
  const up = charge(chargeIndex);
  const values = [0.2, 0.3, 0.4, 0.5].map((soc) => {
    const moved = up.run.movedAh[up.start] + soc * down.capacityAh;
    const k = up.run.movedAh.findIndex((value) => value >= moved);
    return (up.run.voltageV[k] - down.voltageAt(soc)) / (up.currentA + down.currentA);
  });
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

/** Re + Rct of the four impedance runs nearest in order of test, ohm. */
function impedanceOhm(testId: number): number {
  const near = table('impedance.csv')
    .filter((r) => r.cell_id === 'B0005')
    .map((r) => ({ apart: Math.abs(Number(r.test_id) - testId), ohm: Number(r.re_ohm) + Number(r.rct_ohm) }))
    .sort((a, b) => a.apart - b.apart)
    .slice(0, 4);
  return near.reduce((sum, r) => sum + r.ohm, 0) / near.length;
}

/** Time constant of the voltage's return after the cut-off, from three points equally far apart (an exponential through them). */
function relaxationS(index: number): number {
  const { run, cut } = discharge(index);
  const last = run.timeS.length - 1;
  const first = cut + 2;
  const at = (time: number) => run.voltageV[run.timeS.findIndex((t) => t >= time)];
  const apart = (run.timeS[last] - run.timeS[first]) / 2;
  const [a, b, c] = [at(run.timeS[first]), at(run.timeS[first] + apart), run.voltageV[last]];
  return apart / Math.log((b - a) / (c - b));
}

function predict(subject: (typeof CHARGES)[number]) {
  const [first, second] = CHARGES.filter((other) => other !== subject);
  const rFirst = wholeResistanceOhm(first.charge, first.discharge);
  const rSecond = wholeResistanceOhm(second.charge, second.discharge);
  const share = (subject.charge - first.charge) / (second.charge - first.charge);
  const whole = rFirst * (rSecond / rFirst) ** share;
  const down = discharge(subject.discharge);
  const r0 = impedanceOhm(down.run.testId);
  const soc = Array.from({ length: 41 }, (_, k) => k / 40);
  const cell = linearCell(down.capacityAh, r0, {
    soc: row(...soc),
    ocv: {
      kind: 'table',
      values: row(...soc.map((z) => down.voltageAt(z) + whole * down.currentA)),
      interpolation: 'linear',
    },
    r0Ohm: new Float64Array(41).fill(r0),
    branches: [branch(whole - r0, relaxationS(subject.discharge), 41)],
  });
  const { currentA } = charge(subject.charge);
  return simulateCharge(
    setupOf([charged(cell, 0)], { stages: [{ currentA, until: null }], endCurrentA: 0.01 * RATED_AH }),
  );
}

describe.skipIf(sharedIsMissing(`${FOLDER}/charge_series_B0005.csv`))(
  'charges of cell B0005 from its other records',
  () => {
    // Where more than 5 % is allowed the prediction is known to be worse: there the resistance is extrapolated past its records.
    it.each([
      { ...CHARGES[0], within: 0.06 },
      { ...CHARGES[1], within: 0.05 },
      { ...CHARGES[2], within: 0.15 },
    ])(
      'charge $charge meets the voltage limit within $within of the measured time',
      ({ within, ...subject }) => {
        const up = charge(subject.charge);
        const measured = up.run.timeS[up.atLimit] - up.run.timeS[up.start];
        const predicted = predict(CHARGES.find((other) => other.charge === subject.charge) ?? CHARGES[0]);
        const time = predicted.phases[0].endTimeS;
        const error = time / measured - 1;
        console.info(
          `charge ${subject.charge}: ${time.toFixed(0)} s predicted, ${measured.toFixed(0)} s measured, ${(100 * error).toFixed(1)} %`,
        );
        expect(predicted.phases.map((phase) => phase.kind)).toEqual(['constant-current', 'constant-voltage']);
        expect(Math.abs(error)).toBeLessThan(within);
      },
    );
  },
);
