import { describe, expect, it } from 'vitest';
import { chooseCircuit } from '../../../../fitting/circuit/fit/chooseCircuit.ts';
import { chosenError } from '../../../../fitting/circuit/fit/chosenCircuit.ts';
import { fitCircuit } from '../../../../fitting/circuit/fit/fitCircuit.ts';
import { normalSource, seededRandom } from '../../../../fitting/statistics/random.ts';
import { chenParameters, simulatePulse } from './chenRinconMora.ts';

const names = ['r0Ohm', 'r1Ohm', 'tau1S', 'r2Ohm', 'tau2S'] as const;

interface Coverage {
  /** Share of cases in which each parameter lies within three of its own standard errors. */
  readonly withinThree: number[];
  /** Share in which its 95 % interval holds the truth. */
  readonly within95: number[];
  /** Share of cases in which two branches were taken. */
  readonly twoBranches: number;
}

/** Ten SOCs in turn, 300 s of 0.85 A and 1,500 s of relaxation. */
function study(
  cases: number,
  sampling: { intervalS: number; noiseV: number; resolutionV: number },
  seed: number,
  choose: boolean,
): Coverage {
  const normal = normalSource(seededRandom(seed));
  const withinThree = names.map(() => 0);
  const within95 = names.map(() => 0);
  let taken = 0;
  for (let k = 0; k < cases; k++) {
    const soc = 0.1 * (1 + (k % 10));
    const window = simulatePulse({
      soc,
      currentA: -0.85,
      pulseS: 300,
      relaxationS: 1500,
      ...sampling,
      normal,
    });
    const truth = chenParameters(soc);
    const chosen = choose ? chooseCircuit(window, { resolutionV: sampling.resolutionV }) : null;
    const circuit = chosen?.circuit ?? fitCircuit(window, { branches: 2 });
    if (circuit.branches !== 2 || circuit.withSlope) continue;
    taken++;
    names.forEach((name, i) => {
      const found = circuit.parameters.find((parameter) => parameter.name === name);
      const error = (chosen ? chosenError(chosen, name) : found?.standardError) ?? Number.NaN;
      const deviation = Math.abs((found?.value ?? Number.NaN) - truth[name]) / error;
      if (deviation <= 3) withinThree[i]++;
      if (deviation <= 1.96) within95[i]++;
    });
  }
  return {
    withinThree: withinThree.map((count) => count / taken),
    within95: within95.map((count) => count / taken),
    twoBranches: taken / cases,
  };
}

describe('recovery of the circuit of Chen and Rincón-Mora 2006 from simulated pulses', () => {
  it('has every R and tau within three standard errors in 99 % of 1,000 cases, and 95 % intervals that hold', () => {
    const found = study(1000, { intervalS: 1, noiseV: 2e-4, resolutionV: 0 }, 11, false);
    for (const share of found.withinThree) expect(share).toBeGreaterThanOrEqual(0.99);
    for (const share of found.within95) {
      expect(share).toBeGreaterThanOrEqual(0.92);
      expect(share).toBeLessThanOrEqual(0.98);
    }
  });

  it('takes two branches by itself', () => {
    const found = study(100, { intervalS: 1, noiseV: 2e-4, resolutionV: 0 }, 12, true);
    expect(found.twoBranches).toBeGreaterThanOrEqual(0.98);
    for (const share of found.withinThree) expect(share).toBeGreaterThanOrEqual(0.97);
  });

  it('is not overconfident on readings in steps of 1 mV', () => {
    const found = study(200, { intervalS: 2, noiseV: 2e-4, resolutionV: 1e-3 }, 13, true);
    console.log(
      `1 mV steps: 95 % intervals hold in ${found.within95.map((s) => (100 * s).toFixed(1)).join(', ')} %`,
    );
    expect(found.twoBranches).toBeGreaterThan(0.9);
    for (const share of found.within95) expect(share).toBeGreaterThanOrEqual(0.92);
    for (const share of found.withinThree) expect(share).toBeGreaterThanOrEqual(0.98);
  });

  it('refuses the quick branch where the sampling is too coarse for it', () => {
    const found = study(100, { intervalS: 60, noiseV: 2e-4, resolutionV: 0 }, 14, true);
    expect(found.twoBranches).toBe(0);
  });

  it('is still right with as few rows as identify both branches', () => {
    const found = study(300, { intervalS: 20, noiseV: 2e-4, resolutionV: 0 }, 15, true);
    console.log(
      `20 s sampling: 95 % intervals hold in ${found.within95.map((s) => (100 * s).toFixed(1)).join(', ')} %`,
    );
    for (const share of found.within95) expect(share).toBeGreaterThanOrEqual(0.9);
  });
});
