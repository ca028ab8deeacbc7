import { describe, expect, it } from 'vitest';
import { chooseCircuit } from '../../../../fitting/circuit/fit/chooseCircuit.ts';
import { circuitResiduals, circuitVoltage } from '../../../../fitting/circuit/fit/circuitResiduals.ts';
import { circuitValue, fitCircuit } from '../../../../fitting/circuit/fit/fitCircuit.ts';
import { checkResiduals } from '../../../../fitting/circuit/fit/residualCheck.ts';
import { circuitWindow } from '../../../../fitting/circuit/window/circuitWindow.ts';
import { normalSource, seededRandom } from '../../../../fitting/statistics/random.ts';
import { pulseFitRecords } from '../../../bench/pulseFitRecords.ts';
import { simulatePulse } from './chenRinconMora.ts';

const pulse = (options: Partial<Parameters<typeof simulatePulse>[0]>) =>
  simulatePulse({
    soc: 0.5,
    currentA: -0.85,
    pulseS: 300,
    relaxationS: 1500,
    intervalS: 1,
    noiseV: 2e-4,
    resolutionV: 0,
    normal: normalSource(seededRandom(3)),
    ...options,
  });

describe('chooseCircuit(window)', () => {
  it('says why it did not take the other numbers of branches', () => {
    const chosen = chooseCircuit(pulse({}));
    expect(chosen?.circuit.branches).toBe(2);
    const reasons = new Map(chosen?.candidates.map((one) => [`${one.branches}${one.withSlope}`, one.reason]));
    expect(reasons.get('2false')).toBeNull();
    expect(reasons.get('0false')).toBe('aicc-higher');
    expect(reasons.get('1false')).toBe('aicc-higher');
    expect(reasons.get('3false')).not.toBeNull();
  });

  it('refuses a slow branch that the record is too short for', () => {
    const chosen = chooseCircuit(pulse({ pulseS: 20, relaxationS: 40, intervalS: 0.5 }));
    expect(chosen?.circuit.branches).toBeLessThan(2);
    const two = chosen?.candidates.find((one) => one.branches === 2 && !one.withSlope);
    expect(two?.reason).not.toBeNull();
    expect(two?.reason).not.toBe('aicc-higher');
  });

  it('needs rows', () => {
    const few = circuitWindow({
      timeS: Float64Array.of(0, 1, 2, 3),
      currentA: Float64Array.of(0, -1, -1, 0),
      voltageV: Float64Array.of(3.7, 3.6, 3.6, 3.7),
    });
    expect(chooseCircuit(few)).toBeNull();
  });

  it('finds a moving OCV and gives its slope', () => {
    const window = pulse({ noiseV: 1e-4 });
    const charge = window.timeS.map((t) => -0.85 * Math.min(Math.max(t - window.timeS[5], 0), 300));
    const voltageV = window.voltageV.map((v, k) => v + window.referenceV + 1e-4 * charge[k]);
    const chosen = chooseCircuit(circuitWindow({ ...window, voltageV }));
    expect(chosen?.circuit.withSlope).toBe(true);
    expect(circuitValue(chosen!.circuit, 'slopeVPerAs')).toBeCloseTo(1e-4, 5);
  });
});

describe('fitCircuit(window, options)', () => {
  it('ends at one optimum from whatever start', () => {
    for (const record of pulseFitRecords(25, true, 5)) {
      const window = circuitWindow({ ...record, firstScored: 1 });
      const fitFrom = (start: readonly number[]) => fitCircuit(window, { branches: 2, starts: [start] });
      const [data, random] = [fitFrom(record.dataStart), fitFrom(record.randomStart)];
      const ratio = random.residualSumOfSquares / data.residualSumOfSquares;
      expect(Math.abs(ratio - 1)).toBeLessThan(1e-6);
    }
  });

  it('scales with the units of the voltage', () => {
    const window = pulse({});
    const tenfold = circuitWindow({
      timeS: window.timeS,
      currentA: window.currentA,
      voltageV: window.voltageV.map((v) => 10 * (v + window.referenceV)),
    });
    const [one, ten] = [fitCircuit(window, { branches: 2 }), fitCircuit(tenfold, { branches: 2 })];
    expect(circuitValue(ten, 'r1Ohm') / circuitValue(one, 'r1Ohm')).toBeCloseTo(10, 6);
    expect(circuitValue(ten, 'tau2S') / circuitValue(one, 'tau2S')).toBeCloseTo(1, 7);
  });

  it('has residuals that are measured minus fitted', () => {
    const window = pulse({});
    const circuit = fitCircuit(window, { branches: 2 });
    const residuals = circuitResiduals(window, circuit);
    const fitted = circuitVoltage(window, circuit);
    expect(residuals[100]).toBeCloseTo(window.voltageV[100] + window.referenceV - fitted[100], 12);
    const sum = residuals.reduce((total, r) => total + r * r, 0);
    expect(sum / circuit.residualSumOfSquares).toBeCloseTo(1, 6);
    expect(() => fitCircuit(window, { branches: 4 })).toThrow(/0 to 3/);
  });
});

describe('checkResiduals(residuals)', () => {
  it('calls noise white, and a slow wave correlated', () => {
    const normal = normalSource(seededRandom(8));
    const noise = Float64Array.from({ length: 1000 }, normal);
    expect(checkResiduals(noise)).toMatchObject({ verdict: 'white', rowsPerIndependent: 1 });
    const wave = noise.map((value, i) => 0.3 * value + Math.sin(i / 40));
    const found = checkResiduals(wave);
    expect(found.verdict).toBe('correlated');
    expect(found.rowsPerIndependent).toBeGreaterThan(10);
    expect(checkResiduals(noise.subarray(0, 5)).verdict).toBe('too-few');
  });
});
