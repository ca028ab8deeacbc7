/** Outside these a value is taken for an error of the instrument or of the column map, and the file is refused. */
export interface PlausibleLimits {
  readonly voltageMinV: number;
  readonly voltageMaxV: number;
  /** Of either sign. */
  readonly currentMaxA: number;
  readonly temperatureMinC: number;
  readonly temperatureMaxC: number;
}

/**
 * Limits for a record of unknown chemistry: one lithium cell, or two in series, with an open channel allowed for.
 * Common practice; the chemistry's own limits are narrower and replace these where the cell is known.
 */
export const defaultLimits: PlausibleLimits = {
  voltageMinV: -1,
  voltageMaxV: 20,
  currentMaxA: 10_000,
  temperatureMinC: -100,
  temperatureMaxC: 400,
};
