import { describe, expect, it } from 'vitest';
import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';
import { evaluateRestRecord } from '../../server/assess/open-circuit/evaluateRestRecord.ts';
import { evaluatePulseRecord } from '../../server/assess/pulse/evaluatePulseRecord.ts';
import { type SimulatedBench, simulatedRecord } from '../support/simulatedPulses.ts';

const DISCHARGE_S = 720;
const CURRENT_A = -1.5;
const SLOPE_V_PER_AS = 0.6 / (3 * 3600);

/** Five discharges with a rest of `restS` after each, of a cell with a process as slow as `slowS`. */
function bench(slowS: number, restS: number, stepV: number): SimulatedBench {
  const rest = { durationS: restS, currentA: 0 };
  const discharge = { durationS: DISCHARGE_S, currentA: CURRENT_A };
  return {
    cell: {
      r0Ohm: 0.03,
      branches: [
        { rOhm: 0.015, tauS: 6 },
        { rOhm: 0.02, tauS: 70 },
        { rOhm: 0.02, tauS: slowS },
      ],
      ocvV: 3.9,
      slopeVPerAs: SLOPE_V_PER_AS,
    },
    programme: [
      { durationS: 120, currentA: 0 },
      ...Array.from({ length: 5 }, () => [discharge, rest]).flat(),
    ],
    intervalS: 5,
    phase: 0,
    noiseV: 2e-4,
    noiseA: 2e-4,
    stepV,
  };
}

describe('the open-circuit voltage of a rest that has not come to its end', () => {
  it('lies within its interval in at least 90 of 100 rests, however slow the slowest process', () => {
    const random = seededRandom(21);
    let [rests, inside] = [0, 0];
    for (const restS of [600, 1800, 3600]) {
      for (const stepV of [0, 1e-3]) {
        for (let k = 0; k < 4; k++) {
          const slowS = 300 * 6 ** random();
          const record = simulatedRecord(bench(slowS, restS, stepV), random, normalSource(random));
          const found = evaluatePulseRecord(record, { ratedCapacityAh: 3, startSoc: 1 }).rests.slice(-5);
          found.forEach(({ ocvV, ocvStandardUncertaintyV }, i) => {
            if (ocvV === null || ocvStandardUncertaintyV === null) return;
            const truth = 3.9 + (i + 1) * DISCHARGE_S * CURRENT_A * SLOPE_V_PER_AS;
            rests++;
            if (Math.abs(ocvV - truth) <= 1.96 * ocvStandardUncertaintyV) inside++;
          });
        }
      }
    }
    expect(rests).toBeGreaterThan(90);
    expect(inside / rests).toBeGreaterThanOrEqual(0.9);
  });

  it('is known to a millivolt after an hour where the slowest process takes five minutes', () => {
    const random = seededRandom(5);
    const record = simulatedRecord(bench(300, 3600, 0), random, normalSource(random));
    const found = evaluatePulseRecord(record, { ratedCapacityAh: 3, startSoc: 1 }).rests.slice(-5);
    for (const { ocvStandardUncertaintyV } of found) expect(ocvStandardUncertaintyV ?? 1).toBeLessThan(1e-3);
  });
});

describe('the drift of a rest', () => {
  /** Readings of a chamber: 25 °C within some hundredths of a kelvin. */
  const chamber = (rows: number, seed: number): Float64Array => {
    const normal = normalSource(seededRandom(seed));
    return Float64Array.from({ length: rows }, () => Math.round(100 * (25 + 0.03 * normal())) / 100);
  };
  /** The days of a room of ±1 K, from any hour on, that act on the cell with a coefficient of a random sign and size. */
  const room = (timeS: Float64Array, seed: number) => {
    const random = seededRandom(seed);
    const [phase, perKelvinV] = [2 * Math.PI * random(), 2e-4 * normalSource(random)()];
    const temperatureC = timeS.map((t) => 25 + Math.sin((2 * Math.PI * t) / 86_400 + phase));
    return { temperatureC, movedV: temperatureC.map((t) => perKelvinV * (t - 25)) };
  };

  /** Voltage that relaxes as the inverse root of time, and falls by the self-discharge, in 0.1 mV steps. */
  function rest(hours: number, driftMvPerDay: number, relaxingV: number, seed: number, inRoom: boolean) {
    const normal = normalSource(seededRandom(seed));
    const stepS = 60 * Math.max(1, hours / 24);
    const timeS = Float64Array.from({ length: (hours * 3600) / stepS }, (_, i) => i * stepS);
    const moved = inRoom ? room(timeS, seed).movedV : new Float64Array(timeS.length);
    const voltageV = timeS.map((t, i) => {
      const volts = 3.8 + relaxingV / Math.sqrt(1 + t / 300) + (driftMvPerDay * t) / 86_400_000 + moved[i];
      return 1e-4 * Math.round((volts + 1e-4 * normal()) / 1e-4);
    });
    return evaluateRestRecord({
      timeS,
      voltageV,
      currentA: new Float64Array(timeS.length),
      temperatureC: inRoom ? undefined : chamber(timeS.length, seed),
    });
  }

  it.each<[string, ((temperatureC: Float64Array) => Float64Array) | null]>([
    ['recorded', (t) => t],
    ['recorded in steps of 1 °C', (t) => t.map(Math.round)],
    ['written as what was programmed', (t) => t.map(() => 25)],
    ['not recorded', null],
  ])('allows for the days of a room whose temperature was %s', (_, written) => {
    let [given, inside, far] = [0, 0, 0];
    for (let run = 0; run < 60; run++) {
      const days = [1, 1.5, 3, 7][run % 4];
      const normal = normalSource(seededRandom(run + 500));
      const timeS = Float64Array.from({ length: days * 144 }, (_row, i) => 600 * i);
      const { temperatureC, movedV } = room(timeS, run + 77);
      const voltageV = timeS.map((t, i) => 3.7 - t / 86_400_000 + movedV[i] + 5e-5 * normal());
      const found = evaluateRestRecord({
        timeS,
        voltageV,
        currentA: new Float64Array(timeS.length),
        temperatureC: written?.(temperatureC),
      });
      const { driftMvPerDay, driftStandardUncertaintyMvPerDay, assumes } = found;
      if (driftMvPerDay === null || driftStandardUncertaintyMvPerDay === null) continue;
      given++;
      const inUncertainties = Math.abs(driftMvPerDay + 1) / driftStandardUncertaintyMvPerDay;
      if (inUncertainties <= 1.96) inside++;
      if (inUncertainties > 3.5) far++;
      // A week tells the days from the drift.
      if (days === 7) expect(driftStandardUncertaintyMvPerDay).toBeLessThan(0.05);
      const shows = written !== null && new Set(written(temperatureC)).size > 1;
      expect(assumes).toBe(shows ? null : 'room-temperature-assumed');
    }
    expect(given).toBeGreaterThan(30);
    expect(inside / given).toBeGreaterThanOrEqual(0.9);
    expect(far).toBe(0);
  });

  it.each([
    ['a chamber', false],
    ['a room', true],
  ])('holds what is left of the relaxation in its interval, or is not given, in %s', (_, inRoom) => {
    let [given, inside] = [0, 0];
    for (const hours of [12, 24, 72]) {
      for (const drift of [-0.1, -0.5, -3]) {
        for (const relaxingV of [-0.008, 0.008]) {
          const found = rest(hours, drift, relaxingV, 31 * hours + given, inRoom);
          const { driftMvPerDay, driftStandardUncertaintyMvPerDay, reason } = found;
          if (driftMvPerDay === null || driftStandardUncertaintyMvPerDay === null) {
            expect(reason).toBe('still-relaxing');
            // A drift that stands out of what is left of the relaxation is given; half a day of a room may look like one.
            if (!inRoom || hours > 12) expect(drift).toBeGreaterThan(-3);
            continue;
          }
          given++;
          if (Math.abs(driftMvPerDay - drift) <= 1.96 * driftStandardUncertaintyMvPerDay) inside++;
        }
      }
    }
    expect(given).toBeGreaterThanOrEqual(8);
    expect(inside / given).toBeGreaterThanOrEqual(0.85);
  });

  it.each([
    ['the root of time', (share: number) => 1 - Math.sqrt(share)],
    ['an exponential longer than the rest', (share: number) => Math.exp(-share / 1.2)],
    ['the logarithm of time', (share: number) => 1 - Math.log1p(share / 0.004) / Math.log1p(250)],
  ])('is never far from the truth where the relaxation goes as %s', (_, course) => {
    const drifts = [-0.2, -1, -5];
    let given = 0;
    for (const hours of [8, 12, 24, 48]) {
      for (const driftMvPerDay of drifts) {
        for (const relaxingMv of [-6, 3, 8]) {
          const normal = normalSource(seededRandom(hours + relaxingMv + 100));
          const timeS = Float64Array.from({ length: 60 * hours }, (__, i) => 60 * i);
          const voltageV = timeS.map((t) => {
            const movedMv = relaxingMv * course(t / (3600 * hours)) + (driftMvPerDay * t) / 86_400;
            return 1e-4 * Math.round((3.8 + 1e-3 * movedMv + 3e-5 * normal()) / 1e-4);
          });
          const found = evaluateRestRecord({ timeS, voltageV, currentA: new Float64Array(timeS.length) });
          if (found.driftMvPerDay === null) continue;
          given++;
          const away = Math.abs(found.driftMvPerDay - driftMvPerDay);
          expect(away).toBeLessThan(3.5 * (found.driftStandardUncertaintyMvPerDay ?? 0));
        }
      }
    }
    expect(given).toBeGreaterThan(2);
  });

  it('of a settled cell is known to a few hundredths of a millivolt a day after three days', () => {
    const { driftMvPerDay, driftStandardUncertaintyMvPerDay } = rest(72, -0.5, 0, 3, false);
    expect(Math.abs((driftMvPerDay ?? 9) + 0.5)).toBeLessThan(0.05);
    expect(driftStandardUncertaintyMvPerDay ?? 9).toBeLessThan(0.1);
  });
});
