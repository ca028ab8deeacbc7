import { atCurrent, brokenLimit, hottest, proposableA, type RateLimits } from './chargeRates.ts';
import type { ChargeSetup } from './chargeSetup.ts';
import { type RateSearch, searchRate } from './rateSearch.ts';
import { simulateCharge } from './simulateCharge.ts';
import type { SimulatedCharge } from './simulatedCharge.ts';

export interface StagedProfileOptions {
  readonly oneC: number;
  readonly stages: number;
  readonly targetSoc: number;
  readonly maxTemperatureC: number | null;
}

export interface StagedProfile {
  readonly stages: readonly { readonly currentA: number; readonly untilSoc: number | null }[];
  readonly targetTimeS: number | null;
  readonly peakTemperatureC: number | null;
  readonly single: RateSearch;
  /** True where no staged profile was quicker and the single rate is proposed. */
  readonly sameAsSingleRate: boolean;
  readonly simulations: number;
}

/** Relative moves of one current against the others, from coarse to fine. */
const MOVES: readonly number[] = [0.4, 0.2, 0.1, 0.05, 0.02];
/** Passes in which the scale of a moved profile is bisected onto the limits. */
const SCALE_PASSES = 9;
const MAX_SIMULATIONS = 2000;

/**
 * A staged constant-current profile to the target SOC under the same limits as the best single rate, from which it starts:
 * stages of equal SOC; one current at a time is moved against the others, the whole is scaled until it just keeps every
 * limit, and is taken where the target then comes sooner (a pattern search; Hooke and Jeeves, J. ACM 8 (1961) 212–229). It is
 * therefore never slower than the single rate. Where the target is never reached the single rate's answer is given.
 */
export function proposeStages(setup: ChargeSetup, options: StagedProfileOptions): StagedProfile {
  const limits: RateLimits = { maxTemperatureC: options.maxTemperatureC, minSocAtVoltageLimit: null };
  const { oneC, targetSoc } = options;
  const single = searchRate(setup, {
    oneC,
    targetSoc,
    minRateC: 0.02,
    maxRateC: null,
    limits,
    tradeOffPoints: 0,
    life: null,
  });
  const startTime = single.best?.targetTimeS ?? null;
  if (single.best === null || startTime === null)
    return {
      stages: [],
      targetTimeS: null,
      peakTemperatureC: null,
      single,
      sameAsSingleRate: true,
      simulations: single.simulations,
    };
  const ends = stageEnds(setup, options);
  let simulations = single.simulations;
  let best = {
    currents: ends.map(() => single.best?.currentA ?? 0),
    timeS: startTime,
    peakC: single.best.peakTemperatureC,
  };
  const tried = new Map<string, boolean>();
  const attempt = (asked: number[]): boolean => {
    const currents = asked.map((currentA) => proposableA(setup, currentA));
    const key = currents.join();
    const known = tried.get(key) ?? simulate(currents);
    tried.set(key, known);
    return known;
  };
  const simulate = (currents: number[]): boolean => {
    simulations += 1;
    const charge = chargeStages(setup, currents, ends, targetSoc);
    const time = charge.timesS[0];
    if (brokenLimit(charge, limits) !== null || time === null) return false;
    if (time < best.timeS * (1 - 1e-6)) best = { currents, timeS: time, peakC: hottest(charge) };
    return true;
  };
  for (const move of MOVES)
    while (improve(() => best, move, attempt)) if (simulations >= MAX_SIMULATIONS) break;
  const improved = best.timeS < startTime;
  return {
    stages: improved
      ? best.currents.map((currentA, s) => ({ currentA, untilSoc: ends[s] }))
      : [{ currentA: single.best.currentA, untilSoc: null }],
    targetTimeS: best.timeS,
    peakTemperatureC: best.peakC,
    single,
    sameAsSingleRate: !improved,
    simulations,
  };
}

/** One round of moves up and down of each current. @returns whether any was an improvement. */
function improve(
  best: () => { readonly currents: readonly number[]; readonly timeS: number },
  move: number,
  attempt: (currents: number[]) => boolean,
): boolean {
  const before = best().timeS;
  const stages = best().currents.length;
  for (let s = 0; s < stages; s++)
    for (const factor of [1 + move, 1 / (1 + move)]) {
      const moved = best().currents.map((current, k) => (k === s ? current * factor : current));
      scaleToLimits(moved, attempt);
    }
  return best().timeS < before * (1 - 1e-5);
}

/** Bisects the scale of a profile onto the limits, trying each on the way. */
function scaleToLimits(currents: readonly number[], attempt: (currents: number[]) => boolean): void {
  let low = 0.6;
  let high = 1.5;
  for (let pass = 0; pass < SCALE_PASSES; pass++) {
    const scale = pass === 0 ? 1 : (low + high) / 2;
    if (attempt(currents.map((current) => current * scale))) low = scale;
    else high = scale;
  }
}

/** Equal parts of SOC from the fullest cell's start to the target; the last stage is open. */
function stageEnds(setup: ChargeSetup, options: StagedProfileOptions): (number | null)[] {
  const start = Math.max(...setup.cells.map((cell) => cell.startSoc));
  const width = Math.max(options.targetSoc - start, 0) / options.stages;
  return Array.from({ length: options.stages }, (_, s) =>
    s === options.stages - 1 ? null : start + (s + 1) * width,
  );
}

function chargeStages(
  setup: ChargeSetup,
  currents: readonly number[],
  ends: readonly (number | null)[],
  targetSoc: number,
): SimulatedCharge {
  return simulateCharge({
    ...atCurrent(setup, currents[0], targetSoc),
    stages: currents.map((currentA, s) => ({
      currentA,
      until:
        ends[s] === null ? null : { soc: ends[s], cellVoltageV: null, temperatureC: null, durationS: null },
    })),
  });
}
