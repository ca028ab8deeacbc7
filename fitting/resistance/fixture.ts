/** A value with its standard uncertainty. */
export interface UncertainOhm {
  readonly valueOhm: number;
  readonly standardUncertaintyOhm: number | null;
}

/**
 * Takes a fixture's contact resistance off a measured resistance; the uncertainties add in quadrature.
 *
 * @throws RangeError for a negative contact resistance or uncertainty
 */
export function subtractFixture(measured: UncertainOhm, fixture: UncertainOhm): UncertainOhm {
  const fixtureUncertainty = fixture.standardUncertaintyOhm ?? 0;
  if (!(fixture.valueOhm >= 0)) {
    throw new RangeError(`The fixture's resistance is ${fixture.valueOhm} Ohm; it must not be negative`);
  }
  if (!(fixtureUncertainty >= 0)) {
    throw new RangeError(`The fixture's uncertainty is ${fixtureUncertainty} Ohm; it must not be negative`);
  }
  return {
    valueOhm: measured.valueOhm - fixture.valueOhm,
    standardUncertaintyOhm:
      measured.standardUncertaintyOhm === null
        ? null
        : Math.hypot(measured.standardUncertaintyOhm, fixtureUncertainty),
  };
}
