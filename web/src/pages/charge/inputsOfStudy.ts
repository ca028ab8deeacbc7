import type { ChargeStudyDescription } from '../../../../server/contract/chargeStudy.ts';
import { inPercent, milli, rounded } from './scaled.ts';
import { type StageInput, type StudyInputs, startingInputs } from './studyInputs.ts';
import { supplyInputs } from './supplyInputs.ts';

type Stage = ChargeStudyDescription['phases']['stages'][number];

/**
 * The inputs of the page that describe a stored study again, so that a new one can begin from it. The cells themselves come
 * with the draft of the new study; `lostOf` tells what the page has no field for.
 */
export function inputsOfStudy(study: ChargeStudyDescription): StudyInputs {
  const { stack } = study;
  return {
    ...startingInputs,
    ...cellInputs(study),
    watch: stack.watch,
    stackVoltageLimitV: stack.stackVoltageLimitV ?? null,
    ambientTemperatureC: stack.ambientTemperatureC,
    cellVoltageLimitV: stack.cellVoltageLimitV ?? null,
    maxTemperatureC: stack.maxTemperatureC ?? null,
    ...bypassInputs(stack.bypass?.find((one) => one !== null) ?? null),
    toSenseMilliohm: milli(stack.seriesResistance?.toSensePointOhm),
    beyondSenseMilliohm: milli(stack.seriesResistance?.beyondSensePointOhm),
    ...phaseInputs(study),
    zones: (study.temperatureZones ?? []).map((zone) => ({
      fromC: zone.fromC,
      toC: zone.toC,
      maxRateC: zone.maxRateC ?? rateOf(zone.maxCurrentA, study),
      maxCellVoltageV: zone.maxCellVoltageV ?? null,
    })),
    zoneHysteresisK: study.zoneHysteresisK,
    ...supplyInputs(study),
    ...questionInputs(study),
  };
}

/** A current as a multiple of the smallest rated capacity, which is what one C of a study is. */
function rateOf(currentA: number | undefined, { cells }: ChargeStudyDescription): number | null {
  if (currentA === undefined) return null;
  return rounded(currentA / Math.min(...cells.map((cell) => cell.ratedCapacityAh ?? cell.capacityAh)));
}

/** The value that all cells have; null where they differ or have none. */
function common(values: readonly (number | undefined)[]): number | null {
  const [first] = values;
  return first !== undefined && values.every((value) => value === first) ? first : null;
}

function cellInputs({ cells }: ChargeStudyDescription): Partial<StudyInputs> {
  const socs = cells.map((cell) => inPercent(cell.startSoc));
  const entered = cells.map((cell) => (cell.thermal?.basis === 'entered' ? cell.thermal : undefined));
  const uncertain = (read: (of: NonNullable<(typeof cells)[number]['uncertainty']>) => number | undefined) =>
    common(cells.map((cell) => (cell.uncertainty === undefined ? undefined : read(cell.uncertainty))));
  const percent = (value: number | null) => inPercent(value ?? undefined);
  return {
    startSocPercent: socs[0] ?? startingInputs.startSocPercent,
    startSocOfCells: socs.every((soc) => soc === socs[0]) ? [] : socs,
    startTemperatureC: common(cells.map((cell) => cell.startTemperatureC)),
    heatCapacityJPerK: common(entered.map((thermal) => thermal?.heatCapacityJPerK)),
    heatTransferWPerK: common(entered.map((thermal) => thermal?.heatTransferWPerK)),
    capacityUncertaintyPercent: percent(uncertain((of) => of.capacityRelative)),
    r0UncertaintyPercent: percent(uncertain((of) => of.r0Relative)),
    branchUncertaintyPercent: percent(uncertain((of) => of.branchRelative)),
    resistanceCorrelation: uncertain((of) => of.r0BranchCorrelation),
    ocvUncertaintyMillivolt: milli(uncertain((of) => of.ocvV) ?? undefined),
    startSocUncertaintyPercent: percent(uncertain((of) => of.startSoc)),
    startTemperatureUncertaintyK: uncertain((of) => of.startTemperatureK),
    heatCapacityUncertaintyPercent: percent(uncertain((of) => of.heatCapacityRelative)),
    heatTransferUncertaintyPercent: percent(uncertain((of) => of.heatTransferRelative)),
  };
}

function bypassInputs(
  bypass: NonNullable<NonNullable<ChargeStudyDescription['stack']['bypass']>[number]> | null,
): Partial<StudyInputs> {
  if (bypass === null) return {};
  return {
    bypassCurrentA: bypass.kind === 'current' ? bypass.currentA : null,
    bypassOhm: bypass.kind === 'resistor' ? bypass.resistanceOhm : null,
    bypassStartV: bypass.startVoltageV,
    bypassStopV: bypass.stopVoltageV,
    bypassAtRest: bypass.atRest,
  };
}

function phaseInputs(study: ChargeStudyDescription): Partial<StudyInputs> {
  const { phases } = study;
  const rate = (part: { readonly rateC?: number; readonly currentA?: number } | undefined) =>
    part?.rateC ?? rateOf(part?.currentA, study);
  const stage = (of: Stage): StageInput => ({
    rateC: rate(of) ?? 1,
    untilSocPercent: inPercent(of.until?.socAtLeast),
    untilCellV: of.until?.cellVoltageAtLeastV ?? null,
    untilC: of.until?.temperatureAtLeastC ?? null,
    untilMinutes: of.until?.durationS === undefined ? null : of.until.durationS / 60,
  });
  return {
    stages: phases.stages.map(stage),
    endRateC: rate(phases.end) ?? startingInputs.endRateC,
    prechargeBelowV: phases.precharge?.belowCellVoltageV ?? null,
    prechargeRateC: rate(phases.precharge) ?? startingInputs.prechargeRateC,
    steppedTaper: phases.taper === 'stepped',
    restAfterMinutes: phases.restAfterS / 60,
    longestHours: phases.maxDurationS / 3600,
  };
}

function questionInputs({ questions }: ChargeStudyDescription): Partial<StudyInputs> {
  const { rateSearch, stagedProfile, monteCarlo, rateTable } = questions;
  const target = rateSearch?.targetSoc ?? stagedProfile?.targetSoc ?? questions.timesAtSoc?.[0];
  return {
    targetSocPercent: inPercent(target) ?? startingInputs.targetSocPercent,
    stackOnly: questions.stackOnly,
    rateSearch: rateSearch !== undefined,
    leastRateC: rateSearch?.minRateC ?? startingInputs.leastRateC,
    mostRateC: rateSearch?.maxRateC ?? null,
    leastSocAtLimitPercent: inPercent(rateSearch?.minSocAtVoltageLimit),
    tradeOffPoints: rateSearch?.tradeOffPoints ?? startingInputs.tradeOffPoints,
    withLife: rateSearch?.life !== undefined,
    stagedProfile: stagedProfile !== undefined,
    profileStages: stagedProfile?.stages ?? startingInputs.profileStages,
    draws: monteCarlo?.draws ?? 0,
    drawSeed: monteCarlo?.seed ?? startingInputs.drawSeed,
    drawLevelPercent: inPercent(monteCarlo?.level) ?? startingInputs.drawLevelPercent,
    rateTable: rateTable !== undefined,
    rateTableC: rateTable?.temperatureC ?? startingInputs.rateTableC,
    rateTableGrowthPercent:
      rateTable?.resistanceGrowth.map((growth) => inPercent(growth) ?? 0) ??
      startingInputs.rateTableGrowthPercent,
  };
}

/** What the page leaves to the cells and their fits, or lays down itself; a new study has its own. */
const ofItsOwn =
  /^(schemaVersion|name|notes\b|cells\.\d+\.(?!startSoc$|startTemperatureC$|thermal)|(source|cable|converter)\.part\.|questions\.(seriesStepS|timesAtSoc)|.*\.basis$)/;

/**
 * The fields of a stored study that a new one made from it does not have or has otherwise, as `phases.end.currentA`; a field
 * that is off, 0, or at the contract's default is nothing to lose.
 *
 * @param again what the page makes of the inputs
 */
export function lostOf(study: ChargeStudyDescription, again: unknown): string[] {
  const made = new Map(leaves(again));
  return leaves(study).flatMap(([field, value]) => {
    const other = made.get(field);
    const same =
      other === value ||
      (typeof value === 'number' &&
        typeof other === 'number' &&
        Math.abs(other - value) <= 1e-9 * Math.abs(value)) ||
      (other === undefined && isDefault(field, value, made));
    return same || ofItsOwn.test(field) ? [] : [field];
  });
}

function isDefault(field: string, value: unknown, made: ReadonlyMap<string, unknown>): boolean {
  // None at one of the cells, and one there on the page.
  if (value === null) return ![...made.keys()].some((other) => other.startsWith(`${field}.`));
  if (value === false || value === 0) return true;
  // A current that became a rate is the same quantity.
  if (field.endsWith('urrentA'))
    return made.has(field.replace('currentA', 'rateC').replace('CurrentA', 'RateC'));
  const usual: Readonly<Record<string, unknown>> = {
    'stack.watch': 'per-cell',
    'phases.taper': 'continuous',
    'phases.maxDurationS': 86400,
    'converter.ratioStage.paths': 1,
    'questions.rateSearch.minRateC': 0.05,
    'questions.rateSearch.tradeOffPoints': 8,
    'questions.stagedProfile.stages': 4,
    'questions.monteCarlo.seed': 1,
    'questions.monteCarlo.level': 0.95,
  };
  return field in usual && usual[field] === value;
}

function leaves(value: unknown, at = ''): [string, unknown][] {
  if (Array.isArray(value)) return value.flatMap((one, i) => leaves(one, `${at}.${i}`));
  if (typeof value !== 'object' || value === null) return [[at, value]];
  return Object.entries(value).flatMap(([name, one]) => leaves(one, at === '' ? name : `${at}.${name}`));
}
