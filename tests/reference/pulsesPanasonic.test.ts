import { describe, expect, it } from 'vitest';
import { circuitVoltage } from '../../fitting/circuit/fit/circuitResiduals.ts';
import { fitPulses } from '../../fitting/circuit/fit/fitPulses.ts';
import { findPulses } from '../../fitting/records/pulses.ts';
import { findSteps } from '../../fitting/records/steps.ts';
import { fitTemperature, reduceResistance } from '../../fitting/resistance/temperatureDependence.ts';
import { evaluatePulseRecord } from '../../server/assess/pulse/evaluatePulseRecord.ts';
import type { EvaluatedPulse } from '../../server/contract/evaluatedPulse.ts';
import type { EvaluatedPulseRecord } from '../../server/contract/pulseRecord.ts';
import { sharedIsMissing } from '../support/required.ts';
import { readShared } from './pulsesRecordFile.ts';

const folder = 'panasonic-18650pf';
const settings = { ratedCapacityAh: 2.9, startSoc: 1, minVoltageV: 2.5, maxVoltageV: 4.2 };
const known = new Map<string, EvaluatedPulseRecord>();
function evaluate(name: string): EvaluatedPulseRecord {
  const result = known.get(name) ?? evaluatePulseRecord(readShared(`${folder}/hppc_${name}.csv`), settings);
  known.set(name, result);
  return result;
}

/** The 2.9 A pulse at half charge, that the source's reference figures belong to. */
function atHalfCharge(pulses: readonly EvaluatedPulse[], currentA = -2.9): EvaluatedPulse {
  const alike = pulses.filter((pulse) => Math.abs(pulse.currentA - currentA) < 0.05);
  return alike.reduce((best, pulse) =>
    Math.abs((pulse.socBefore ?? 9) - 0.4986) < Math.abs((best.socBefore ?? 9) - 0.4986) ? pulse : best,
  );
}
const milliohms = (pulse: EvaluatedPulse, durationS: number): number =>
  1000 * (pulse.resistances.find((one) => one.durationS === durationS)?.valueOhm ?? Number.NaN);

// P. Kollmeyer, "Panasonic 18650PF Li-ion Battery Data", Mendeley Data V1 (2018), doi:10.17632/wykht8y7tg.1
describe.skipIf(sharedIsMissing(`datasets/${folder}`))('2.9 Ah cell, pulses at 25, 10 and −10 °C', () => {
  it.each([
    ['25degC', 67, 3, 28.7, 37.3],
    ['10degC', 59, 3, 40.5, 52.0],
    ['n10degC', 47, 11, 98.6, 129.8],
  ])(
    '%s: %i pulses, %i ended by a limit, %d mΩ at 0.2 s and %d mΩ at 10 s',
    (name, count, early, at02, at10) => {
      const { pulses } = evaluate(name);
      expect(pulses).toHaveLength(count);
      expect(pulses.every((pulse) => pulse.direction === 'discharge')).toBe(true);
      expect(pulses.filter((pulse) => pulse.endedBy === 'voltage-limit').length).toBeGreaterThanOrEqual(
        early,
      );
      const pulse = atHalfCharge(pulses);
      expect(Math.abs(milliohms(pulse, 0.2) / at02 - 1)).toBeLessThan(0.02);
      expect(Math.abs(milliohms(pulse, 10) / at10 - 1)).toBeLessThan(0.02);
      for (const short of pulses.filter((one) => one.durationS < 9)) {
        expect(short.resistances.find((one) => one.durationS === 10)?.reason).toBe('pulse-too-short');
      }
    },
  );

  it('leaves relaxation residuals at the level of the resolution', () => {
    const record = readShared(`${folder}/hppc_25degC.csv`);
    const finding = findSteps(record);
    const pulses = findPulses(record, finding);
    const { circuits } = fitPulses(record, finding, pulses, 3);
    const deviations: number[] = [];
    circuits.forEach(({ window, chosen }, k) => {
      const small = Math.abs(pulses[k].currentA + 1.45) < 0.05;
      const middle =
        (record.chargeAh?.[pulses[k].start] ?? -9) > -2.2 && (record.chargeAh?.[pulses[k].start] ?? 0) < -0.1;
      if (!small || !middle || chosen === null) return;
      const fitted = circuitVoltage(window, chosen.circuit);
      const ended = window.currentA.lastIndexOf(window.currentA.find((a) => a < -1) ?? 0);
      const kept = window.voltageV
        .map((voltageV, i) => voltageV + window.referenceV - fitted[i])
        .filter((_, i) => i > ended && window.currentA[i] === 0);
      deviations.push(Math.sqrt(kept.reduce((sum, r) => sum + r * r, 0) / kept.length));
    });
    deviations.sort((a, b) => a - b);
    expect(deviations.length).toBeGreaterThanOrEqual(7);
    expect(finding.voltageResolutionV).toBeCloseTo(0.00064, 5);
    expect(deviations[Math.floor(deviations.length / 2)]).toBeLessThan(0.00064 / 2);
  });

  it('gives SOC, temperature, OCV and a table over SOC, with what to know about the record', () => {
    const { pulses, rests, openCircuit, table, warnings, steps } = evaluate('25degC');
    expect(pulses[0].socBefore).toBeCloseTo(1, 3);
    expect(pulses[66].socBefore).toBeLessThan(0.06);
    expect(pulses[31].temperatureC).toBeCloseTo(25.6, 0);
    expect(steps.filter((step) => step.gapBeforeS > 0)).toHaveLength(13);
    expect(warnings.map((warning) => warning.code)).toContain('gap');
    expect(rests.length).toBeGreaterThan(50);
    expect(openCircuit?.source).toBe('rests');
    openCircuit?.ocvV.forEach((ocvV, i, all) => {
      if (i > 0) expect(ocvV).toBeGreaterThanOrEqual(all[i - 1]);
    });
    expect(table).toHaveLength(67);
  });

  it('falls with temperature at half charge as an Arrhenius law, and is not carried beyond −10 to 25 °C unflagged', () => {
    const points = [
      ['25degC', 25],
      ['10degC', 10],
      ['n10degC', -10],
    ].map(([name, temperatureC]) => ({
      temperatureC: temperatureC as number,
      valueOhm: milliohms(atHalfCharge(evaluate(name as string).pulses), 10) / 1000,
      standardUncertaintyOhm: 5e-4,
    }));
    const fit = fitTemperature(points);
    expect(fit?.fallsThroughout).toBe(true);
    // The band for pulse resistance is 20 to 40 kJ/mol (from memory, high confidence).
    expect(fit?.activationJPerMol).toBeGreaterThan(15_000);
    expect(fit?.activationJPerMol).toBeLessThan(40_000);
    expect(reduceResistance(fit!, points[1], 25).valueOhm / points[0].valueOhm).toBeCloseTo(1, 0);
    expect(reduceResistance(fit!, points[1], 25).extrapolated).toBe(false);
    expect(reduceResistance(fit!, points[1], 45).extrapolated).toBe(true);
  });
});
