/** Circuit models of pulses: window, response, fit and the uncertainty of their parameters. What other folders may use. */

export { type ChosenCircuit, chosenError } from './fit/chosenCircuit.ts';
export { circuitResiduals, circuitVoltage } from './fit/circuitResiduals.ts';
export { circuitValue, type FittedCircuit } from './fit/fitCircuit.ts';
export { fitPulses, type PulseCircuit, type PulseCircuits } from './fit/fitPulses.ts';
export { isSurpassed } from './fit/isSurpassed.ts';
export { checkResiduals } from './fit/residualCheck.ts';
export { restOfCircuit } from './fit/restOfCircuit.ts';
export { slopeOpen, withSharedSlope, withSlopeUncertainty } from './fit/slopeUncertainty.ts';
export { interpolateTable, type ParameterTable, SAME_TEMPERATURE_C, tabulate } from './parameterTable.ts';
export { decay } from './response/decay.ts';
export type { CircuitWindow } from './window/circuitWindow.ts';
export { type EdgeReading, type PulseWindow, pulseWindow } from './window/pulseWindow.ts';
