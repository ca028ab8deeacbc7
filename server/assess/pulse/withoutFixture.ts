import { subtractFixture, type UncertainOhm } from '../../../fitting/resistance/index.ts';
import type { PulseSettings } from '../../contract/pulseRecord.ts';

/** Takes the fixture's resistance off, where one is stated. */
export function withoutFixture(measured: UncertainOhm, settings: PulseSettings): UncertainOhm {
  if (settings.fixtureResistanceOhm === null) return measured;
  return subtractFixture(measured, {
    valueOhm: settings.fixtureResistanceOhm,
    standardUncertaintyOhm: settings.fixtureStandardUncertaintyOhm,
  });
}
