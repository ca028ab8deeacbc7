import { describe, expect, it } from 'vitest';
import { impedanceAt } from '../../fitting/impedance/impedanceAt.ts';
import type { Spectrum } from '../../fitting/impedance/spectrum.ts';
import { fitVoigtChain } from '../../fitting/impedance/voigtChain.ts';
import { evaluatePulseRecord } from '../../server/assess/pulse/evaluatePulseRecord.ts';
import type { CircuitFit, EvaluatedPulse } from '../../server/contract/evaluatedPulse.ts';
import type { EvaluatedPulseRecord } from '../../server/contract/pulseRecord.ts';
import { groupRows, numbers, readCsv } from '../support/readCsv.ts';
import { sharedIsMissing, sharedPath } from '../support/required.ts';
import { readShared } from './pulsesRecordFile.ts';

const folder = 'panasonic-18650pf';
const settings = { ratedCapacityAh: 2.9, startSoc: 1, minVoltageV: 2.5, maxVoltageV: 4.2 };

interface Sweep {
  readonly chargeAh: number;
  readonly spectrum: Spectrum;
}

function sweeps(temperature = '25degC'): Sweep[] {
  const { header, rows } = readCsv(sharedPath(`datasets/${folder}/eis_${temperature}.csv`));
  const at = (column: string): number => header.indexOf(column);
  return [...groupRows(rows, at('sweep')).values()].map((own) => ({
    chargeAh: Number(own[0][at('charge_Ah')]),
    spectrum: {
      frequencyHz: numbers(own, at('frequency_Hz')),
      realOhm: numbers(own, at('z_real_ohm')),
      imaginaryOhm: numbers(own, at('z_imag_ohm')),
    },
  }));
}

function real(spectrum: Spectrum, frequencyHz: number): number {
  const { realOhm } = impedanceAt(spectrum, frequencyHz);
  expect(realOhm, `Re Z at ${frequencyHz} Hz`).not.toBeNull();
  return realOhm as number;
}

/**
 * Resistance that a cell of this spectrum would show a time after a step of current: R + Σ Rₖ(1 − e^(−t/τₖ)) of the
 * chain that fits the spectrum.
 */
function stepOhm(spectrum: Spectrum, timeS: number): number {
  const { timeConstantsS, resistancesOhm } = fitVoigtChain(spectrum, 14);
  const omega = spectrum.frequencyHz.map((f) => 2 * Math.PI * f);
  let [series, weights] = [0, 0];
  spectrum.realOhm.forEach((value, i) => {
    const chain = resistancesOhm.reduce(
      (sum, ohm, k) => sum + ohm / (1 + (omega[i] * timeConstantsS[k]) ** 2),
      0,
    );
    const weight = 1 / (value ** 2 + spectrum.imaginaryOhm[i] ** 2);
    series += weight * (value - chain);
    weights += weight;
  });
  return resistancesOhm.reduce(
    (sum, ohm, k) => sum + ohm * (1 - Math.exp(-timeS / timeConstantsS[k])),
    series / weights,
  );
}

/** Resistance of a fitted circuit a time after a step. */
function circuitOhm(circuit: CircuitFit, timeS: number): number {
  const branch = (ohm: number | null, tauS: number | null): number =>
    ohm === null || tauS === null ? 0 : ohm * (1 - Math.exp(-timeS / tauS));
  const { r0Ohm, r1Ohm, tau1S, r2Ohm, tau2S, r3Ohm, tau3S, ocvSlopeVPerAs } = circuit;
  return r0Ohm + branch(r1Ohm, tau1S) + branch(r2Ohm, tau2S) + branch(r3Ohm, tau3S) + ocvSlopeVPerAs * timeS;
}

/**
 * How far pulses and spectra may differ, as a share, by the charge at which both were taken. They are two tests of one
 * cell. Full and nearly full, the spectra show up to 1.45 times the resistance of the pulses at every time from 0.2 s
 * to 10 s, and so also of pulses read without any fit long after the edge: the cell itself differs between the two
 * tests there, why is not known. Nearly empty, the resistance changes within one pulse, so that no circuit of constant
 * elements follows it.
 */
function tolerance(chargeAh: number): number {
  if (chargeAh > -0.1) return 0.35;
  if (chargeAh > -0.2) return 0.2;
  if (chargeAh > -0.4) return 0.1;
  if (chargeAh > -2.4) return 0.08;
  return chargeAh > -2.5 ? 0.1 : 0.2;
}

const known = new Map<string, EvaluatedPulseRecord>();
function evaluated(temperature = '25degC'): EvaluatedPulseRecord {
  const result =
    known.get(temperature) ?? evaluatePulseRecord(readShared(`${folder}/hppc_${temperature}.csv`), settings);
  known.set(temperature, result);
  return result;
}

/** Sweeps of each file, as the description of the data set counts them: none of the loops below may run empty. */
const sweepCounts: Readonly<Record<string, number>> = { '25degC': 14, '10degC': 13, n10degC: 9 };

/** Every sweep with the pulse of 1.45 A, the nearest to a small signal, at the same charge. */
function pairs(temperature = '25degC'): (Sweep & { circuit: CircuitFit })[] {
  const small = evaluated(temperature).pulses.filter((pulse) => Math.abs(pulse.currentA + 1.45) < 0.05);
  const all = sweeps(temperature);
  expect(all).toHaveLength(sweepCounts[temperature]);
  return all.map((sweep) => {
    const away = (pulse: EvaluatedPulse): number =>
      Math.abs(((pulse.socBefore ?? 9) - 1) * 2.9 - sweep.chargeAh);
    const pulse = small.reduce((best, one) => (away(one) < away(best) ? one : best));
    expect(away(pulse)).toBeLessThan(0.001);
    expect(pulse.circuit).not.toBeNull();
    return { ...sweep, circuit: pulse.circuit as CircuitFit };
  });
}

/** R0 against the real part at ω = 1/τ of the shortest time constant that could be told from it. */
function expectAsImpedance(circuit: CircuitFit, spectrum: Spectrum, share: number, where: string): void {
  const expected = real(spectrum, 1 / (2 * Math.PI * (circuit.shortestTauS ?? Number.NaN)));
  const allowed = share * expected + 2 * (circuit.r0StandardErrorOhm ?? Number.NaN);
  expect(Math.abs(circuit.r0Ohm - expected), where).toBeLessThan(allowed);
}

// P. Kollmeyer, "Panasonic 18650PF Li-ion Battery Data", Mendeley Data V1 (2018), doi:10.17632/wykht8y7tg.1: pulses and
// spectra of one cell at 25, 10 and −10 °C, at 14, 13 and 9 states of charge. No spectrum goes into any fit of a pulse.
describe.skipIf(sharedIsMissing(`datasets/${folder}`))(
  'pulses against the impedance of the same cell',
  () => {
    it('shows less at the first reading than the cell has at 1 kHz, which no cell can: the voltage channel lags', () => {
      const record = readShared(`${folder}/hppc_25degC.csv`);
      const { timeS, currentA, voltageV } = record;
      const lowest = Math.min(...sweeps().map(({ spectrum }) => real(spectrum, 1000)));
      let [edges, below] = [0, 0];
      for (let row = 1; row < timeS.length; row++) {
        const stepA = currentA[row] - currentA[row - 1];
        const ended = stepA > 1 && stepA < 7 && currentA[row] === 0;
        if (!ended || timeS[row] - timeS[row - 1] > 0.2) continue;
        edges++;
        if ((voltageV[row] - voltageV[row - 1]) / stepA < lowest) below++;
      }
      expect(edges).toBeGreaterThan(35);
      expect(below / edges).toBeGreaterThan(0.75);
      expect(evaluated().record.unsettledS).toBe(0);
      expect(evaluated().warnings.map((warning) => warning.code)).toContain('voltage-channel-lags');
    });

    it('finds the same lag of 0.08 to 0.09 s in the pulses at all SOCs and in those at half charge with every row', () => {
      const half = evaluatePulseRecord(readShared(`${folder}/hppc_25degC_one_soc_full_rate.csv`), settings);
      for (const { record } of [evaluated(), half]) {
        expect(record.voltageLagS).toBeGreaterThan(0.078);
        expect(record.voltageLagS).toBeLessThan(0.09);
        expect(record.voltageLagStandardErrorS).toBeLessThan(0.002);
      }
    });

    it('has R0 as the real part at the frequency of the shortest time constant told from it, at all 14 SOCs', () => {
      for (const { chargeAh, spectrum, circuit } of pairs()) {
        expect(circuit.shortestTauS).toBeGreaterThan(0.15);
        expect(circuit.shortestTauS).toBeLessThan(0.2);
        expectAsImpedance(circuit, spectrum, tolerance(chargeAh), `R0 at ${chargeAh} Ah`);
      }
    });

    it('names no lag at 10 and −10 °C, where the charge transfer is as slow, and has R0 as the real part there too', () => {
      for (const [temperature, allowed] of [
        ['10degC', 0.15],
        ['n10degC', 0.2],
      ] as const) {
        const { record, warnings } = evaluated(temperature);
        expect(record.voltageLagS).toBeNull();
        expect(record.unsettledS).toBeGreaterThan(0.5);
        expect(warnings.map((warning) => warning.code)).toContain('unsettled-readings');
        for (const { chargeAh, spectrum, circuit } of pairs(temperature)) {
          // The voltage of this sweep, fresh from charge, moved by 74 mV while it was measured.
          if (temperature === 'n10degC' && chargeAh === 0) continue;
          expectAsImpedance(circuit, spectrum, allowed, `${temperature}, ${chargeAh} Ah`);
        }
      }
    });

    it('follows the step response of the spectrum from 0.2 s to 10 s at all 14 SOCs', () => {
      for (const { chargeAh, spectrum, circuit } of pairs()) {
        for (const timeS of [0.2, 0.5, 1, 2, 10]) {
          const ratio = circuitOhm(circuit, timeS) / stepOhm(spectrum, timeS);
          expect(Math.abs(ratio - 1), `${timeS} s at ${chargeAh} Ah`).toBeLessThan(tolerance(chargeAh));
        }
      }
    });

    it('has R0 within 35 % above the real part at 1 kHz around half charge; the cell itself is further above it by 1 Hz at every SOC', () => {
      const all = pairs();
      const above = ({ spectrum, circuit }: (typeof all)[number]): number =>
        circuit.r0Ohm / real(spectrum, 1000) - 1;
      for (const pair of all) expect(above(pair)).toBeGreaterThan(0.3);
      const halfCharged = all.filter(({ chargeAh }) => Math.abs(chargeAh + 1.6) < 0.2);
      expect(halfCharged).toHaveLength(2);
      for (const pair of halfCharged) expect(above(pair)).toBeLessThan(0.35);
      // A quarter and more is added within 16 ms already, before any reading of these pulses, and over 35 % by 0.16 s.
      for (const { spectrum } of all) {
        expect(real(spectrum, 10) / real(spectrum, 1000)).toBeGreaterThan(1.25);
        expect(real(spectrum, 1) / real(spectrum, 1000)).toBeGreaterThan(1.35);
      }
    });
  },
);
