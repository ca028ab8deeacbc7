import { type CircuitWindow, circuitWindow } from '../../../../fitting/circuit/window/circuitWindow.ts';

/**
 * Parameters of the 850 mAh polymer cell of M. Chen and G. A. Rincón-Mora, IEEE Trans. Energy Convers. 21
 * (2006) 504, doi:10.1109/TEC.2006.874229, at a state of charge.
 */
export function chenParameters(soc: number): {
  ocvV: number;
  r0Ohm: number;
  r1Ohm: number;
  tau1S: number;
  r2Ohm: number;
  tau2S: number;
} {
  const short = 0.3208 * Math.exp(-29.14 * soc) + 0.04669;
  const long = 6.603 * Math.exp(-155.2 * soc) + 0.04984;
  return {
    ocvV: -1.031 * Math.exp(-35 * soc) + 3.685 + 0.2156 * soc - 0.1178 * soc ** 2 + 0.3201 * soc ** 3,
    r0Ohm: 0.1562 * Math.exp(-24.37 * soc) + 0.07446,
    r1Ohm: short,
    tau1S: short * (-752.9 * Math.exp(-13.51 * soc) + 703.6),
    r2Ohm: long,
    tau2S: long * (-6056 * Math.exp(-27.12 * soc) + 4475),
  };
}

/** What a simulated pulse is sampled with. */
export interface SimulatedPulse {
  readonly soc: number;
  readonly currentA: number;
  readonly pulseS: number;
  readonly relaxationS: number;
  readonly intervalS: number;
  readonly noiseV: number;
  readonly resolutionV: number;
  readonly normal: () => number;
}

/**
 * One pulse out of rest with its relaxation, parameters frozen at the SOC, in closed form (not by the
 * recursion that is under test). Two rows at each edge, before and after it.
 */
export function simulatePulse(options: SimulatedPulse): CircuitWindow {
  const { currentA, pulseS, relaxationS, intervalS, noiseV, resolutionV, normal } = options;
  const cell = chenParameters(options.soc);
  const times: number[] = [];
  const currents: number[] = [];
  const put = (timeS: number, current: number): void => {
    times.push(timeS);
    currents.push(current);
  };
  for (let t = -5 * intervalS; t < -1e-9; t += intervalS) put(t, 0);
  put(0, 0);
  put(0, currentA);
  for (let k = 1; k * intervalS < pulseS - 1e-9; k++) put(k * intervalS, currentA);
  put(pulseS, currentA);
  put(pulseS, 0);
  for (let k = 1; k * intervalS <= relaxationS + 1e-9; k++) put(pulseS + k * intervalS, 0);
  const edge = currents.lastIndexOf(currentA);
  const voltages = times.map((timeS, i) => {
    const branch = (ohm: number, tauS: number): number => {
      if (timeS < 0 || i <= 5) return 0;
      const rise = (until: number): number => 1 - Math.exp(-until / tauS);
      return ohm * currentA * (i <= edge ? rise(timeS) : rise(pulseS) * Math.exp(-(timeS - pulseS) / tauS));
    };
    const exact =
      cell.ocvV +
      cell.r0Ohm * currents[i] +
      branch(cell.r1Ohm, cell.tau1S) +
      branch(cell.r2Ohm, cell.tau2S) +
      noiseV * normal();
    return resolutionV > 0 ? Math.round(exact / resolutionV) * resolutionV : exact;
  });
  return circuitWindow({
    timeS: Float64Array.from(times),
    currentA: Float64Array.from(currents),
    voltageV: Float64Array.from(voltages),
  });
}
