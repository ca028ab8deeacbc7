/** Resistances from pulses and step tables, and their dependence on temperature. What other folders may use. */

export { type BaseVoltage, baseVoltage } from './baseVoltage.ts';
export { allowForCommonTemperature } from './commonTemperature.ts';
export { findTwoLevel } from './findTwoLevel.ts';
export { subtractFixture, type UncertainOhm } from './fixture.ts';
export { evaluateIsoProfile, ISO_CHARGE_TIMES_S, ISO_DISCHARGE_TIMES_S, isIsoProfile } from './isoProfile.ts';
export { type PulseLimit, pulseCurrentLimits } from './pulseCurrentLimit.ts';
export { chargePower, dischargePower, pulseEndResistance } from './pulsePower.ts';
export { type PulseReading, pulseReading } from './pulseReading.ts';
export { firstResistance, type ResistanceAtTime, resistanceAt } from './resistanceAt.ts';
export { type LoggedPulse, stepTablePulses } from './stepTablePulses.ts';
export {
  fitTemperature,
  inverseKelvin,
  reduceResistance,
  type TemperatureFit,
  temperatureFactor,
} from './temperatureDependence.ts';
export { fitTemperatureOfCells } from './temperatureOfCells.ts';
