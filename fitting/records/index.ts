/** Records of time, voltage and current: bad rows, steps, pulses, resolution and state of charge. What other folders may use. */

export { type BadReading, dropBadRows, withoutBadRows } from './badRows.ts';
export { cumulativeChargeAh } from './charge.ts';
export { usableChargeCounter } from './chargeCounter.ts';
export { type CurrentScale, currentScale } from './currentScale.ts';
export { type EdgeMoment, edgeMoment, momentUncertainty } from './edgeMoment.ts';
export { gapBefore } from './gaps.ts';
export { type JoinedRun, joinRuns } from './joinRuns.ts';
export { withoutLateCurrent } from './lateCurrent.ts';
export { withLateVoltage } from './lateVoltage.ts';
export { lineThroughRows } from './lineThroughRows.ts';
export { findPulses, type Pulse, separatePulses } from './pulses.ts';
export {
  findRecordIssue,
  type RecordColumns,
  type RowRange,
  recordStretches,
  requireSound,
} from './record.ts';
export { type RepeatedColumn, withoutRepeats } from './repeatedReadings.ts';
export { DrawnRows, rowAtOrAfter } from './resample.ts';
export { columnResolution, currentResolution, printedStep } from './resolution.ts';
export { settlingTime } from './settlingTime.ts';
export { type CurrentZero, type SocTrace, socTrace } from './socTrace.ts';
export { type DerivedStartSoc, deriveStartSoc, type StartSocBasis } from './startSoc.ts';
export type { Step } from './step.ts';
export { findSteps, type StepFinding } from './steps.ts';
