import { describe, expect, it } from 'vitest';
import { chooseCircuit } from '../../../../fitting/circuit/fit/chooseCircuit.ts';
import { type ChosenCircuit, chosenError } from '../../../../fitting/circuit/fit/chosenCircuit.ts';
import { circuitValue } from '../../../../fitting/circuit/fit/fitCircuit.ts';
import { fitPulses } from '../../../../fitting/circuit/fit/fitPulses.ts';
import { withLagUncertainty } from '../../../../fitting/circuit/fit/lagUncertainty.ts';
import { findVoltageLag } from '../../../../fitting/circuit/fit/voltageLag.ts';
import { pulseWindow } from '../../../../fitting/circuit/window/pulseWindow.ts';
import { findPulses } from '../../../../fitting/records/pulses.ts';
import { findSteps } from '../../../../fitting/records/steps.ts';
import { type CellThere, laggedRecord, type TakenWith } from './laggedRecord.ts';

/** Resistances and time constants that change with SOC as those of a cell do. */
function cells(quick: number): CellThere[] {
  return Array.from({ length: 10 }, (_, k) => ({
    r0Ohm: 0.028 + 0.001 * Math.abs(k - 5),
    branches: [
      { ohm: quick * (0.004 + 0.0006 * (k - 5) ** 2), tauS: 0.9 + 0.15 * k },
      { ohm: 0.012, tauS: 12 + k },
    ],
  }));
}

const taken: TakenWith = { lagS: 0.085, lateS: 0.03, noiseV: 2e-4, seed: 5 };

function look(made: readonly CellThere[], how: TakenWith) {
  const record = laggedRecord(made, how);
  const finding = findSteps(record);
  const pulses = findPulses(record, finding);
  return { record, finding, pulses };
}

describe('findVoltageLag(record, finding, pulses)', () => {
  it('finds the lag of a voltage channel within three of its standard errors, edges at unknown times', () => {
    const how = [
      { lagS: 0.05, lateS: 0.03 },
      { lagS: 0.085, lateS: 0.03 },
      { lagS: 0.085, lateS: 0 },
      { lagS: 0.15, lateS: 0.03 },
    ];
    for (const { lagS, lateS } of how) {
      const { record, finding, pulses } = look(cells(1), { ...taken, lagS, lateS });
      expect(pulses).toHaveLength(10);
      const found = findVoltageLag(record, finding, pulses);
      expect(found).not.toBeNull();
      expect(Math.abs((found?.lagS ?? 0) - lagS)).toBeLessThan(3 * (found?.standardErrorS ?? 0));
      expect(found?.standardErrorS).toBeLessThan(0.02 * lagS);
    }
  });

  it('finds none where none is, whether or not the edges are late', () => {
    for (const lateS of [0, 0.03, 0.09]) {
      const { record, finding, pulses } = look(cells(1), { ...taken, lagS: 0, lateS });
      expect(findVoltageLag(record, finding, pulses)).toBeNull();
    }
  });

  it('works on readings without any noise', () => {
    const { record, finding, pulses } = look(cells(1), { ...taken, noiseV: 0 });
    const found = findVoltageLag(record, finding, pulses);
    expect(Math.abs((found?.lagS ?? 0) / taken.lagS - 1)).toBeLessThan(0.01);
    const direct = look(cells(1), { ...taken, noiseV: 0, lagS: 0 });
    expect(findVoltageLag(direct.record, direct.finding, direct.pulses)).toBeNull();
  });

  it("does not take a cell's own quick branch for a lag, though its time constant be the same throughout", () => {
    const made = cells(1).map(({ r0Ohm, branches }) => ({
      r0Ohm,
      branches: [{ ohm: r0Ohm, tauS: 0.08 }, ...branches],
    }));
    for (const lateS of [0, 0.02]) {
      const { record, finding, pulses } = look(made, { ...taken, lagS: 0, lateS });
      expect(findVoltageLag(record, finding, pulses)).toBeNull();
    }
  });

  it('does not name a lag on which the pulses do not agree', () => {
    const made = cells(1).map(({ r0Ohm, branches }, k) => ({
      r0Ohm: 0.1 * r0Ohm,
      branches: [{ ohm: r0Ohm, tauS: 0.05 * 1.2 ** k }, ...branches],
    }));
    const { record, finding, pulses } = look(made, { ...taken, lagS: 0, lateS: 0 });
    expect(findVoltageLag(record, finding, pulses)).toBeNull();
  });
});

const names = ['r0Ohm', 'r1Ohm', 'tau1S', 'r2Ohm', 'tau2S'];
const truthOf = ({ r0Ohm, branches }: CellThere): number[] => [
  r0Ohm,
  ...branches.flatMap(({ ohm, tauS }) => [ohm, tauS]),
];

/** Fits with two branches of records of ten pulses each, with the truth of each. */
function fitted(lateS: number, records: number): { chosen: ChosenCircuit; truth: number[] }[] {
  const made = cells(1);
  return Array.from({ length: records }, (_, k) => k + 1).flatMap((seed) => {
    const { record, finding, pulses } = look(made, { ...taken, lateS, seed });
    const { circuits, voltageLag, deadS } = fitPulses(record, finding, pulses, 3);
    expect(voltageLag).not.toBeNull();
    expect(deadS).toBe(0);
    return circuits.flatMap(({ chosen, shortestTauS }, i) => {
      expect(shortestTauS).toBeGreaterThan(2 * (voltageLag?.lagS ?? 1));
      const two = chosen?.circuit.branches === 2 && !chosen.circuit.withSlope;
      return chosen !== null && two ? [{ chosen, truth: truthOf(made[i]) }] : [];
    });
  });
}

describe('fitPulses(record, …) through a lagging voltage channel', () => {
  it('has every R and tau within three standard errors in 98 % of the pulses, and 95 % intervals that hold', () => {
    const fits = fitted(0, 30);
    expect(fits.length).toBeGreaterThan(270);
    names.forEach((name, i) => {
      const off = fits.map(
        ({ chosen, truth }) =>
          Math.abs(circuitValue(chosen.circuit, name) - truth[i]) / (chosenError(chosen, name) ?? 0),
      );
      const share = (limit: number): number => off.filter((one) => one < limit).length / off.length;
      expect(share(3)).toBeGreaterThanOrEqual(0.98);
      expect(share(1.96)).toBeGreaterThanOrEqual(0.91);
    });
  });

  it('has R0 within 2 % where every edge falls up to 30 ms after the row before it', () => {
    const fits = fitted(0.03, 6);
    expect(fits.length).toBeGreaterThan(40);
    const off = fits.map(({ chosen, truth }) =>
      Math.abs(circuitValue(chosen.circuit, 'r0Ohm') / truth[0] - 1),
    );
    expect(Math.max(...off)).toBeLessThan(0.02);
  });
});

describe('withLagUncertainty(chosen, longer)', () => {
  it('widens the errors, and states none where the fit through the longer lag does not settle', () => {
    const { record, finding, pulses } = look(cells(1), taken);
    const windowAt = (lagS: number) =>
      pulseWindow(record, finding, pulses[4], { shape: 'sharp', deadS: 0, lagS }).window;
    const chosen = chooseCircuit(windowAt(taken.lagS));
    if (chosen === null) throw new Error('no circuit');
    const longer = windowAt(1.05 * taken.lagS);
    const error = chosenError(chosen, 'r0Ohm') ?? Number.NaN;
    expect(chosenError(withLagUncertainty(chosen, longer), 'r0Ohm')).toBeGreaterThan(error);
    const broken = { ...longer, voltageV: longer.voltageV.map(() => Number.NaN) };
    expect(withLagUncertainty(chosen, broken).covariance).toBeNull();
  });
});
