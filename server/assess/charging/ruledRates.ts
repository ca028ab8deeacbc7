import type { ChargeSetup, RateLimits } from '../../../fitting/charging/index.ts';
import { rateTable } from '../../../fitting/charging/index.ts';
import type { ChargeCellDescription } from '../../contract/chargeStudy.ts';
import type { RateTableEntryResult } from '../../contract/chargeStudyResult.ts';

/** Parameters hold so far beyond the temperatures at which they were measured. Common practice, no source. */
export const MEASURED_REACH_K = 5;

/** Below this a rate is shown with the caution about lithium plating. Common practice, no source. */
export const PLATING_CAUTION_BELOW_C = 15;

/** The temperature of parameters that state none. */
const UNSTATED_C = 25;

/** Temperatures at which parameters were measured; null: at one that is not known. */
export type MeasuredTemperatures = { readonly fromC: number; readonly toC: number } | null;

/**
 * Temperatures that all cells of a description were measured at, with the range of a temperature law where one carries
 * them on. Tables that state no temperature count as measured at 25 °C.
 */
export function measuredTemperatures(
  cells: readonly ChargeCellDescription[],
): NonNullable<MeasuredTemperatures> {
  const ranges = cells.map(({ temperatureC, arrhenius }) => {
    const grid = temperatureC ?? [UNSTATED_C];
    return {
      fromC: Math.min(
        grid[0],
        ...(arrhenius === undefined ? [] : [arrhenius.validFromC ?? Number.NEGATIVE_INFINITY]),
      ),
      toC: Math.max(
        grid[grid.length - 1],
        ...(arrhenius === undefined ? [] : [arrhenius.validToC ?? Number.POSITIVE_INFINITY]),
      ),
    };
  });
  return {
    fromC: Math.max(...ranges.map(({ fromC }) => fromC)),
    toC: Math.min(...ranges.map(({ toC }) => toC)),
  };
}

/**
 * Highest rates against temperature and growth of the resistances, under one rule wherever rates are shown: none outside
 * the datasheet's temperatures; colder than the parameters were measured none but within the datasheet's own current for
 * that temperature, because resistances rise in the cold; what lies outside the measured temperatures is marked.
 */
export function ruledRates(
  setup: ChargeSetup,
  asked: {
    readonly temperatureC: readonly number[];
    readonly growths: readonly number[];
    readonly limits: RateLimits;
  },
  oneC: number,
  measured: MeasuredTemperatures,
): RateTableEntryResult[] {
  return rateTable(setup, asked.temperatureC, asked.growths, oneC, asked.limits).map((entry) => {
    const { temperatureC, resistanceGrowth, rateC, binding } = entry;
    const outsideWindow = binding === 'outside-temperature-window';
    const near =
      measured !== null &&
      temperatureC >= measured.fromC - MEASURED_REACH_K &&
      temperatureC <= measured.toC + MEASURED_REACH_K;
    // Outside the window nothing was read from the parameters.
    const extrapolated = !outsideWindow && (entry.extrapolated || !near);
    const tooCold = measured === null || temperatureC < measured.fromC - MEASURED_REACH_K;
    if (tooCold && !outsideWindow && !statedByDatasheet(setup, temperatureC))
      return {
        temperatureC,
        resistanceGrowth,
        rateC: null,
        binding,
        extrapolated,
        reason: 'not-measured-in-the-cold',
      };
    const reason =
      rateC !== null
        ? null
        : outsideWindow
          ? windowReason(setup, temperatureC)
          : 'limits-broken-at-lowest-rate';
    return { temperatureC, resistanceGrowth, rateC, binding, extrapolated, reason };
  });
}

/** True where the datasheet of every cell gives a current for the temperature. */
function statedByDatasheet({ cells }: ChargeSetup, temperatureC: number): boolean {
  return cells.every(({ datasheetZones }) =>
    datasheetZones?.some(
      ({ fromC, toC, maxCurrentA }) => temperatureC >= fromC && temperatureC <= toC && maxCurrentA !== null,
    ),
  );
}

function windowReason(
  { cells, zones }: ChargeSetup,
  temperatureC: number,
): 'below-minimum-temperature' | 'above-maximum-temperature' {
  const cold = cells.some(({ minTemperatureC, datasheetZones }) => {
    const starts = [...(zones ?? []), ...(datasheetZones ?? [])].map(({ fromC }) => fromC);
    return (
      (minTemperatureC !== null && temperatureC < minTemperatureC) ||
      (starts.length > 0 && temperatureC < Math.min(...starts))
    );
  });
  return cold ? 'below-minimum-temperature' : 'above-maximum-temperature';
}
