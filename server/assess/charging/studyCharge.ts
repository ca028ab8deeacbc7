import type { ChargeSetup, DrawnCharge, LifeLaw } from '../../../fitting/charging/index.ts';
import {
  drawCharges,
  monteCarlo,
  proposeStages,
  searchRate,
  simulateCharge,
  spreadOfDraws,
} from '../../../fitting/charging/index.ts';
import { GAS_CONSTANT, ZERO_CELSIUS_K } from '../../../fitting/numeric/index.ts';
import { seededRandom } from '../../../fitting/statistics/index.ts';
import { generalCautions } from '../../contract/cautions.ts';
import type { ChargeStudyDescription } from '../../contract/chargeStudy.ts';
import {
  CHARGE_ALGORITHM,
  type ChargeCaution,
  type ChargeStudyResult,
  type SimulatedChargeResult,
} from '../../contract/chargeStudyResult.ts';
import { Refusal } from '../../errors.ts';
import { askedOf } from './askedOf.ts';
import { chargeSetupOf, type PreparedStudy } from './chargeSetupOf.ts';
import { oneTemperatureRange } from './oneTemperature.ts';
import { presentCharge, timeKey } from './presentCharge.ts';
import { measuredTemperatures, PLATING_CAUTION_BELOW_C, ruledRates } from './ruledRates.ts';
import { slowPolarisationError } from './slowPolarisation.ts';
import { hasUncertainty, studyWarnings } from './studyWarnings.ts';

export interface StudyProgress {
  /** Told of the spread's draws; returning false cancels the study. */
  readonly draws?: (done: number, of: number) => boolean;
  /** The spread's draws where they were made before, by {@link drawStudy}. */
  readonly drawn?: readonly (DrawnCharge | null)[];
}

/**
 * Computes a charge study: the simulated charge and every further question of the description. Pure: the same
 * description gives the same result.
 *
 * @throws Refusal `cannot-study` naming field, value and what would be right; `cancelled` where progress says stop.
 */
export function studyCharge(
  description: ChargeStudyDescription,
  progress: StudyProgress = {},
): ChargeStudyResult {
  return refusing(() => answer(description, progress));
}

/** The simulation's complaints about its setup name field and value themselves. */
function refusing<Answer>(work: () => Answer): Answer {
  try {
    return work();
  } catch (error) {
    if (error instanceof RangeError) throw new Refusal('cannot-study', `${error.message}.`);
    throw error;
  }
}

/** How many draws the spread of a study takes; none where nothing is asked, or nothing is uncertain. */
export function drawsOf(description: ChargeStudyDescription): number {
  const question = description.questions.monteCarlo;
  return question === undefined || !hasUncertainty(description) ? 0 : question.draws;
}

/**
 * Some draws of a study's spread, by the number of the first and how many. Whatever the parts, they are the same draws.
 *
 * @throws Refusal as {@link studyCharge}
 */
export function drawStudy(
  description: ChargeStudyDescription,
  [first, count]: readonly [first: number, count: number],
  isStopped: () => boolean,
): (DrawnCharge | null)[] {
  const question = description.questions.monteCarlo;
  if (question === undefined) throw new Error('a study without a spread has no draws');
  return refusing(() => {
    const { setup, uncertainties } = chargeSetupOf(description);
    return drawCharges(setup, uncertainties, {
      first,
      count,
      random: seededRandom(question.seed),
      goesOn: () => !isStopped(),
    });
  });
}

function answer(description: ChargeStudyDescription, progress: StudyProgress): ChargeStudyResult {
  const prepared = chargeSetupOf(description);
  const { setup } = prepared;
  const { questions } = description;
  const names = description.cells.map((cell) => cell.name);
  const charge = markOneTemperature(presentCharge(simulateCharge(setup), setup, names), description);
  const stackOnly =
    questions.stackOnly && setup.watch === 'per-cell'
      ? presentCharge(simulateCharge({ ...setup, watch: 'stack-only' }), setup, names)
      : null;
  const rateSearch = answerRateSearch(description, prepared);
  const result: Omit<ChargeStudyResult, 'cautions' | 'warnings' | 'asked'> = {
    ...charge,
    schemaVersion: 1,
    algorithm: CHARGE_ALGORITHM,
    name: description.name ?? null,
    stackOnly,
    rateSearch,
    stagedProfile: answerStagedProfile(description, prepared),
    monteCarlo: answerMonteCarlo(description, prepared, progress),
    rateTable: answerRateTable(description, prepared),
  };
  const slowError = slowPolarisationError(setup, charge);
  return {
    ...result,
    cautions: cautionsOf(description, result),
    warnings: studyWarnings(description, result, prepared.oneC, slowError === null ? [] : [slowError]),
    asked: askedOf(description),
  };
}

/** A table of one temperature is read outside it too: that is as much an extrapolation as beyond the edge of a wider one. */
function markOneTemperature(
  charge: SimulatedChargeResult,
  description: ChargeStudyDescription,
): SimulatedChargeResult {
  return {
    ...charge,
    cells: charge.cells.map((cell, k) =>
      oneTemperatureRange(description, k, cell.peakTemperatureC) === null ||
      cell.extrapolated.includes('temperature-outside-table')
        ? cell
        : { ...cell, extrapolated: [...cell.extrapolated, 'temperature-outside-table'] },
    ),
  };
}

function answerRateSearch(
  description: ChargeStudyDescription,
  { setup, oneC }: PreparedStudy,
): ChargeStudyResult['rateSearch'] {
  const question = description.questions.rateSearch;
  if (question === undefined) return null;
  const search = searchRate(setup, {
    oneC,
    targetSoc: question.targetSoc,
    minRateC: question.minRateC,
    maxRateC: question.maxRateC ?? null,
    limits: {
      maxTemperatureC: question.maxTemperatureC ?? null,
      minSocAtVoltageLimit: question.minSocAtVoltageLimit ?? null,
    },
    tradeOffPoints: question.tradeOffPoints,
    life: question.life === undefined ? null : lifeOf(question.life),
  });
  return {
    rateC: search.best?.rateC ?? null,
    currentA: search.best?.currentA ?? null,
    binding: search.binding,
    reason: search.reason,
    best: search.best,
    tradeOff: [...search.tradeOff],
    simulations: search.simulations,
  };
}

function lifeOf(
  law: NonNullable<NonNullable<ChargeStudyDescription['questions']['rateSearch']>['life']>,
): LifeLaw {
  const { from, to } = law.validRateC ?? { from: Number.NEGATIVE_INFINITY, to: Number.POSITIVE_INFINITY };
  return (rateC, peakTemperatureC) => {
    if (rateC < from || rateC > to) return null;
    const inverse =
      1 / (peakTemperatureC + ZERO_CELSIUS_K) - 1 / (law.referenceTemperatureC + ZERO_CELSIUS_K);
    return (
      law.cyclesAtReference *
      (rateC / law.referenceRateC) ** -law.rateExponent *
      Math.exp(law.rateCoefficientPerC * (rateC - law.referenceRateC)) *
      Math.exp((law.activationEnergyJPerMol / GAS_CONSTANT) * inverse)
    );
  };
}

function answerStagedProfile(
  description: ChargeStudyDescription,
  { setup, oneC }: PreparedStudy,
): ChargeStudyResult['stagedProfile'] {
  const question = description.questions.stagedProfile;
  if (question === undefined) return null;
  const profile = proposeStages(setup, {
    oneC,
    stages: question.stages,
    targetSoc: question.targetSoc,
    maxTemperatureC: question.maxTemperatureC ?? null,
  });
  const { single } = profile;
  return {
    stages: profile.stages.map(({ currentA, untilSoc }) => ({ rateC: currentA / oneC, currentA, untilSoc })),
    targetTimeS: profile.targetTimeS,
    peakTemperatureC: profile.peakTemperatureC,
    singleRateC: single.best?.rateC ?? null,
    singleRateTargetTimeS: single.best?.targetTimeS ?? null,
    sameAsSingleRate: profile.sameAsSingleRate,
    simulations: profile.simulations,
    reason:
      single.best !== null
        ? null
        : single.binding === 'outside-temperature-window'
          ? 'outside-temperature-window'
          : 'limits-broken-at-lowest-rate',
  };
}

function answerMonteCarlo(
  description: ChargeStudyDescription,
  { setup, uncertainties }: PreparedStudy,
  progress: StudyProgress,
): ChargeStudyResult['monteCarlo'] {
  const question = description.questions.monteCarlo;
  if (question === undefined || !hasUncertainty(description)) return null;
  let cancelled = false;
  const spread =
    progress.drawn !== undefined
      ? spreadOfDraws(progress.drawn, question.level)
      : monteCarlo(setup, uncertainties, {
          draws: question.draws,
          level: question.level,
          random: seededRandom(question.seed),
          progress: (done, of) => {
            cancelled = progress.draws?.(done, of) === false;
            return !cancelled;
          },
        });
  if (cancelled) throw new Refusal('cancelled', 'The charge study was cancelled.');
  const targetTimesS: NonNullable<ChargeStudyResult['monteCarlo']>['targetTimesS'] = {};
  setup.timesAtSoc.forEach((soc, s) => {
    targetTimesS[timeKey(soc)] = spread.targetTimesS[s];
  });
  return { ...spread, seed: question.seed, level: question.level, targetTimesS };
}

function answerRateTable(
  description: ChargeStudyDescription,
  { setup, oneC }: PreparedStudy,
): ChargeStudyResult['rateTable'] {
  const question = description.questions.rateTable;
  if (question === undefined) return null;
  const limits = { maxTemperatureC: question.maxTemperatureC ?? null, minSocAtVoltageLimit: null };
  const inService: ChargeSetup = { ...setup, watch: 'per-cell' };
  return {
    // Limits that are general defaults make the whole table one: the rating bounds every rate in it.
    basis: description.cells.some((cell) => cell.datasheet.defaults)
      ? 'default-from-common-practice'
      : 'computed-from-fitted-parameters',
    entries: ruledRates(
      inService,
      { temperatureC: question.temperatureC, growths: question.resistanceGrowth, limits },
      oneC,
      measuredTemperatures(description.cells),
    ),
  };
}

function cautionsOf(
  description: ChargeStudyDescription,
  result: Omit<ChargeStudyResult, 'cautions' | 'warnings' | 'asked'>,
): ChargeCaution[] {
  const cautions: ChargeCaution[] = [...generalCautions];
  const over = (cells: ChargeStudyResult['cells']) => cells.some((cell) => cell.overvoltageV > 0);
  if (over(result.cells) || (result.stackOnly !== null && over(result.stackOnly.cells)))
    cautions.push('stack-only-overcharges');
  const beyond = result.cells.some((cell) => cell.extrapolated.length > 0);
  if (beyond || result.rateTable?.entries.some((entry) => entry.extrapolated))
    cautions.push('parameters-extrapolated');
  if (description.cells.some((cell) => cell.datasheet.defaults))
    cautions.push('default-limits-not-datasheet');
  if (result.endReason === 'outside-temperature-window' || result.rateSearch?.rateC === null)
    cautions.push('do-not-charge');
  const { stack, cells } = description;
  const coldest = Math.min(
    stack.ambientTemperatureC,
    ...cells.map((cell) => cell.startTemperatureC ?? stack.ambientTemperatureC),
    ...(result.rateTable?.entries.filter((e) => e.rateC !== null).map((e) => e.temperatureC) ?? []),
  );
  if (coldest < PLATING_CAUTION_BELOW_C) cautions.push('lithium-plating-not-modelled');
  return cautions;
}
