import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';

/** One pulse with its relaxation: ideal steps of current, 0.2 mV noise. */
export interface PulseFitRecord {
  readonly timeS: Float64Array;
  readonly currentA: Float64Array;
  readonly voltageV: Float64Array;
  /** Rows at which the current jumped. */
  readonly sharpRows: readonly number[];
  readonly pulseA: number;
  readonly pulseEndS: number;
  /** Start of the two time constants read off the record's length. */
  readonly dataStart: readonly [number, number];
  /** Start drawn at random over three decades. */
  readonly randomStart: readonly [number, number];
}

/**
 * Records of 1,000 samples: 30 s discharge of 2 A out of rest and 70 s of relaxation, two branches drawn at
 * random. Uniform: every 0.1 s; else intervals between 0.03 and 0.17 s.
 */
export function pulseFitRecords(count: number, uniform: boolean, seed = 20): PulseFitRecord[] {
  const random = seededRandom(seed);
  const normal = normalSource(random);
  const logUniform = (low: number, high: number): number => low * (high / low) ** random();
  return Array.from({ length: count }, () => {
    const n = 1000;
    const [timeS, currentA, voltageV] = [new Float64Array(n), new Float64Array(n), new Float64Array(n)];
    const [pulseA, pulseEndS] = [-2, 30];
    const branches = [
      { ohm: 0.01 + 0.01 * random(), tauS: logUniform(1, 3) },
      { ohm: 0.01 + 0.02 * random(), tauS: logUniform(12, 35) },
    ];
    const r0Ohm = 0.02 + 0.02 * random();
    let atS = 0;
    let ended = 0;
    for (let k = 0; k < n; k++) {
      const loaded = k > 0 && atS <= pulseEndS + 1e-9;
      if (loaded) ended = k + 1;
      timeS[k] = atS;
      currentA[k] = loaded ? pulseA : 0;
      let polarisation = 0;
      const edgeS = pulseEndS;
      for (const { ohm, tauS } of branches) {
        const share = loaded
          ? 1 - Math.exp(-atS / tauS)
          : (1 - Math.exp(-edgeS / tauS)) * Math.exp(-(atS - edgeS) / tauS);
        if (k > 0) polarisation += ohm * share;
      }
      voltageV[k] = 3.8 + (loaded ? r0Ohm * pulseA : 0) + pulseA * polarisation + 2e-4 * normal();
      const step = uniform ? 0.1 : 0.03 + 0.14 * random();
      const next = uniform ? (k + 1) / 10 : atS + step;
      // The instrument writes a row at the moment the load ends.
      atS = loaded && next > pulseEndS && atS < pulseEndS ? pulseEndS : next;
    }
    return {
      timeS,
      currentA,
      voltageV,
      sharpRows: [1, ended],
      pulseA,
      pulseEndS,
      dataStart: [3, 30],
      randomStart: [logUniform(0.1, 100), logUniform(0.1, 100)],
    };
  });
}
