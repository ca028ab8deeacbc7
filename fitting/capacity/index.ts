/** Capacity and energy of a record, with what sampling and the current channel leave open. What other folders may use. */

export { chargePhases } from './chargePhases.ts';
export { chargeTimes } from './chargeTimes.ts';
export { type CountingQuality, countingQuality } from './countingQuality.ts';
export { cycleEfficiencies } from './cycleEfficiency.ts';
export { type ChargeRun, findRuns } from './findRuns.ts';
export { type RunGap, runGaps } from './pauses.ts';
export { amountsToEnd, type CapacityDefinition, dischargeCapacity } from './runCapacity.ts';
export { runCharge } from './runCharge.ts';
export { contradictsVoltage, type RunStart, runStart } from './runStart.ts';
