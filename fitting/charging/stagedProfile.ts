import { atCurrent, brokenLimit, hottest, type RateLimits, stackRatingA } from './chargeRates.ts';
import type { ChargeSetup } from './chargeSetup.ts';
import { type RateSearch, searchRate } from './rateSearch.ts';
import { type SimulatedCharge, simulateCharge } from './simulateCharge.ts';

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

/** Relative moves of the currents, from coarse to fine. */
const MOVES: readonly number[] = [0.35, 0.2, 0.1, 0.05, 0.025, 0.0125, 0.006];
const MAX_SIMULATIONS = 1500;

/**
 * A staged constant-current profile to the target SOC under the same limits as the best single rate, from which it starts:
 * stages of equal SOC, their currents moved singly and in opposite pairs (a pattern search; Hooke and Jeeves, J. ACM 8
 * (1961) 212–229) as long as the target comes sooner and no limit breaks. It is therefore never slower than the single
 * rate. Where the target is never reached the single rate's answer is given.
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
  const rating = stackRatingA(setup);
  let simulations = single.simulations;
  let best = {
    currents: ends.map(() => single.best?.currentA ?? 0),
    timeS: startTime,
    peakC: single.best.peakTemperatureC,
  };
  const attempt = (currents: number[]): boolean => {
    if (simulations >= MAX_SIMULATIONS) return false;
    simulations += 1;
    const charge = chargeStages(setup, currents, ends, targetSoc);
    const time = charge.timesS[0];
    if (brokenLimit(charge, limits) !== null || time === null || time >= best.timeS * (1 - 1e-6))
      return false;
    best = { currents, timeS: time, peakC: hottest(charge) };
    return true;
  };
  for (const move of MOVES)
    while (improve(best.currents, move, rating, attempt)) if (simulations >= MAX_SIMULATIONS) break;
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

/** One round of single and paired moves. @returns whether any was an improvement. */
function improve(
  from: number[],
  move: number,
  rating: number,
  attempt: (currents: number[]) => boolean,
): boolean {
  let currents = from;
  let improved = false;
  const moved = (up: number, down: number | null) =>
    currents.map((current, s) =>
      s === up ? Math.min(current * (1 + move), rating) : s === down ? current / (1 + move) : current,
    );
  for (let up = 0; up < from.length; up++) {
    if (currents[up] >= rating) continue;
    for (let down = -1; down < from.length; down++) {
      if (down === up) continue;
      const trial = moved(up, down < 0 ? null : down);
      if (!attempt(trial)) continue;
      currents = trial;
      improved = true;
      if (currents[up] >= rating) break;
    }
  }
  return improved;
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
