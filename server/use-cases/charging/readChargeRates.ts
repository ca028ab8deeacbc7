import { chargeSetupOf } from '../../assess/charging/chargeSetupOf.ts';
import {
  commonPracticeRates,
  TABLE_GROWTHS,
  tableTemperatures,
} from '../../assess/charging/commonPracticeRates.ts';
import { measuredTemperatures, ruledRates } from '../../assess/charging/ruledRates.ts';
import type { Context } from '../../context.ts';
import { generalCautions } from '../../contract/cautions.ts';
import type { CellType } from '../../contract/cellTypes.ts';
import type { ChargeRateEntry, ChargeRates } from '../../contract/chargeRates.ts';
import { chargeStudyDescription } from '../../contract/chargeStudy.ts';
import type { RateTableEntryResult } from '../../contract/chargeStudyResult.ts';
import { notFound, Refusal } from '../../errors.ts';
import { findCellType } from '../../store/cellTypes.ts';
import { findChemistry } from '../../store/chemistries.ts';
import { type Representative, representativeCell } from './representativeCell.ts';

const always = [...generalCautions, 'lithium-plating-not-modelled'] as const;

/**
 * Recommended rates of a cell type against temperature and resistance growth: computed from a representative fitted cell
 * where there is one, else by common practice. Never above the datasheet's rating, nothing outside its temperatures.
 *
 * @throws Refusal `not-found`, `cannot-study` where the representative cell's parameters make no charge
 */
export async function readCellTypeChargeRates(context: Context, id: number): Promise<ChargeRates> {
  const cellType = await findCellType(context.store, id);
  if (cellType === null) throw notFound('cell type', id);
  const chemistry = await findChemistry(context.store, cellType.chemistryId);
  if (chemistry === null) throw notFound('chemistry', cellType.chemistryId);
  const limits = limitsOf(cellType);
  const representative = await representativeCell(context, cellType);
  const subject = {
    kind: 'cell-type' as const,
    id,
    name: cellType.name,
    chemistry: cellType.chemistryName,
  };
  const { ratedCapacityAh } = cellType;
  if (representative !== null) {
    const entries = computedRates(representative, limits);
    return tableOf({ subject, ratedCapacityAh, limits, representative, entries });
  }
  // A rating above the usual rate does not recommend its use without knowing the cells.
  const usual = { ...limits, maxRateC: Math.min(limits.maxRateC, chemistry.usualChargeRateC) };
  const ratingBinds = limits.maxRateBasis === 'datasheet' && limits.maxRateC <= chemistry.usualChargeRateC;
  const entries = commonPracticeRates(
    { ...usual, maxRateBasis: ratingBinds ? 'datasheet' : 'common-practice' },
    ratedCapacityAh,
  );
  return tableOf({ subject, ratedCapacityAh, limits, representative: null, entries });
}

/**
 * Rates of a chemistry in general, by common practice from its usual rate and temperature window; the datasheet of a cell
 * overrides every one.
 *
 * @throws Refusal `not-found`
 */
export async function readChemistryChargeRates(context: Context, id: number): Promise<ChargeRates> {
  const chemistry = await findChemistry(context.store, id);
  if (chemistry === null) throw notFound('chemistry', id);
  const limits: ChargeRates['limits'] = {
    maxRateC: chemistry.usualChargeRateC,
    maxRateBasis: 'common-practice',
    chargeVoltageLimitV: chemistry.chargeVoltageLimitV,
    minTemperatureC: chemistry.chargeTemperatureMinC,
    maxTemperatureC: chemistry.chargeTemperatureMaxC,
    commonPractice: ['maxRate', 'chargeVoltageLimit', 'minTemperature', 'maxTemperature'],
  };
  const subject = { kind: 'chemistry' as const, id, name: chemistry.name, chemistry: chemistry.name };
  const entries = commonPracticeRates(limits, null);
  return tableOf({ subject, ratedCapacityAh: null, limits, representative: null, entries });
}

function limitsOf({ limits, ...cellType }: CellType): ChargeRates['limits'] {
  const noZones = cellType.chargeZones.length === 0;
  const commonPractice = [
    limits.maxChargeCurrentBasis === 'common-practice' ? 'maxRate' : null,
    cellType.chargeVoltageLimitV === null ? 'chargeVoltageLimit' : null,
    cellType.chargeTemperatureMinC === null && noZones ? 'minTemperature' : null,
    cellType.chargeTemperatureMaxC === null && noZones ? 'maxTemperature' : null,
  ].filter((name) => name !== null);
  return {
    maxRateC: limits.maxChargeCurrentA / cellType.ratedCapacityAh,
    maxRateBasis: limits.maxChargeCurrentBasis,
    chargeVoltageLimitV: limits.chargeVoltageLimitV,
    minTemperatureC: limits.chargeTemperatureMinC,
    maxTemperatureC: limits.chargeTemperatureMaxC,
    commonPractice,
  };
}

function computedRates({ about, cell }: Representative, limits: ChargeRates['limits']): ChargeRateEntry[] {
  const description = chargeStudyDescription.parse({
    schemaVersion: 1,
    cells: [cell],
    stack: { ambientTemperatureC: 25 },
    phases: { stages: [{ rateC: 1 }] },
  });
  const { setup, oneC } = chargeSetupOf(description);
  const temperatures = tableTemperatures(limits.minTemperatureC, limits.maxTemperatureC);
  const { measuredFromC, measuredToC } = about;
  const measured =
    measuredFromC === null || measuredToC === null ? null : { fromC: measuredFromC, toC: measuredToC };
  const lawful = cell.arrhenius === undefined ? measured : measuredTemperatures([cell]);
  try {
    return ruledRates(
      setup,
      {
        temperatureC: temperatures,
        growths: TABLE_GROWTHS,
        limits: { maxTemperatureC: null, minSocAtVoltageLimit: null },
      },
      oneC,
      lawful,
    ).map((entry) => presentEntry(entry, oneC, limits));
  } catch (error) {
    // The simulation's complaints about its setup name field and value themselves.
    if (error instanceof RangeError) throw new Refusal('cannot-study', `${about.serial}: ${error.message}.`);
    throw error;
  }
}

function presentEntry(
  { temperatureC, resistanceGrowth, rateC, binding, extrapolated, reason }: RateTableEntryResult,
  oneC: number,
  limits: ChargeRates['limits'],
): ChargeRateEntry {
  const unknown = reason === 'not-measured-in-the-cold';
  const byDefault =
    (binding === 'datasheet-rating' && limits.maxRateBasis === 'common-practice') ||
    (binding === 'outside-temperature-window' &&
      limits.commonPractice.includes(
        temperatureC < limits.minTemperatureC ? 'minTemperature' : 'maxTemperature',
      ));
  const shown =
    binding === 'datasheet-rating' && limits.maxRateBasis === 'common-practice' ? 'usual-rate' : binding;
  return {
    temperatureC,
    resistanceGrowth,
    rateC: unknown ? null : (rateC ?? 0),
    currentA: unknown ? null : (rateC ?? 0) * oneC,
    doNotCharge: !unknown && rateC === null,
    basis: byDefault && !unknown ? 'common-practice' : 'computed-from-fitted-parameters',
    binding: unknown ? null : shown,
    reason,
    extrapolated,
  };
}

function tableOf(
  made: Pick<ChargeRates, 'subject' | 'ratedCapacityAh' | 'limits' | 'entries'> & {
    readonly representative: Representative | null;
  },
): ChargeRates {
  const { subject, ratedCapacityAh, limits, entries, representative } = made;
  const cautions: ChargeRates['cautions'] = [...always];
  if (entries.some((entry) => entry.extrapolated)) cautions.push('parameters-extrapolated');
  if (limits.commonPractice.length > 0) cautions.push('default-limits-not-datasheet');
  if (entries.some((entry) => entry.doNotCharge)) cautions.push('do-not-charge');
  return {
    schemaVersion: 1,
    subject,
    basis: representative === null ? 'common-practice' : 'computed-from-fitted-parameters',
    ratedCapacityAh,
    limits,
    representative: representative?.about ?? null,
    representativeReason:
      representative !== null
        ? null
        : subject.kind === 'chemistry'
          ? 'chemistry-in-general'
          : 'no-fitted-cell',
    temperaturesC: [...new Set(entries.map((entry) => entry.temperatureC))],
    resistanceGrowths: [...TABLE_GROWTHS],
    entries,
    cautions,
  };
}
