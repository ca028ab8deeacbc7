/** Open-circuit voltage: curves, rests, relaxation and self-discharge. What other folders may use. */

export { currentOffset } from './currentOffset.ts';
export { loadPolarisation } from './loadPolarisation.ts';
export { type OcvCurve, ocvCurve } from './ocvCurve.ts';
export { type RelaxationEnd, relaxationEnd, stillToMoveV } from './relaxation.ts';
export { type RestedPoint, restCurve } from './restCurve.ts';
export { leakageCurrent, restDrift } from './restDrift.ts';
export { runPolarisation } from './runPolarisation.ts';
export { type SeriesResistance, seriesResistance } from './seriesResistance.ts';
export { type SlowCurve, slowCurve } from './slowCurve.ts';
export { isSlowRun, slowRanges } from './slowRanges.ts';
export { type RestAfterLoad, slowRelaxation } from './slowRelaxation.ts';
