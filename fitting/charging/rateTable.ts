import type { RateLimits } from './chargeRates.ts';
import type { ChargeSetup } from './chargeSetup.ts';
import { type RateBinding, searchRate } from './rateSearch.ts';
import { scaleCell, UNCHANGED } from './scaleCell.ts';

export interface RateTableEntry {
  readonly temperatureC: number;
  readonly resistanceGrowth: number;
  /** Null where the answer is not to charge. */
  readonly rateC: number | null;
  readonly binding: RateBinding;
  /** True where the cell's tables do not reach the temperatures of the charge. */
  readonly extrapolated: boolean;
}

/**
 * The highest rate that keeps all limits against temperature (of the cells at the start and of their surroundings) and
 * growth of all resistances (0: as measured, 0.5: half as much again). One rate search for each entry.
 */
export function rateTable(
  setup: ChargeSetup,
  temperaturesC: readonly number[],
  growths: readonly number[],
  oneC: number,
  limits: RateLimits,
): RateTableEntry[] {
  return temperaturesC.flatMap((temperatureC) =>
    growths.map((resistanceGrowth) => {
      const factor = 1 + resistanceGrowth;
      const aged: ChargeSetup = {
        ...setup,
        ambientTemperatureC: temperatureC,
        cells: setup.cells.map((charged) => ({
          ...charged,
          startTemperatureC: temperatureC,
          cell: scaleCell(charged.cell, { ...UNCHANGED, r0: factor, branches: factor }),
        })),
      };
      const search = searchRate(aged, {
        oneC,
        targetSoc: 0.8,
        minRateC: 0.05,
        maxRateC: null,
        limits,
        tradeOffPoints: 0,
        life: null,
      });
      const rateC = search.best?.rateC ?? null;
      return {
        temperatureC,
        resistanceGrowth,
        rateC,
        binding: search.binding,
        extrapolated: search.extrapolated,
      };
    }),
  );
}
