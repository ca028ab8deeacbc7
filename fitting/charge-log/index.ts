/** A measured charge beside the computed one: comparison and fit. What other folders may use. */

export { type ChargeLog, findLogIssue, type InstrumentErrors, type LogIssue } from './chargeLog.ts';
export { mainDeviation } from './deviation.ts';
export { drivenHeatW, drivenTemperatureC } from './drivenHeat.ts';
export { fitChargeLog, type LogFit, type PreparedLogs, prepareLogs } from './fitChargeLog.ts';
export { fitLogHeat, type HeatEstimate, type HeatedLog } from './heatFit.ts';
export { likelyStartSoc } from './likelyStartSoc.ts';
export type { FullEnd, LogEstimate } from './logEstimates.ts';
export type { CellQuantity, CellToFit, LogParameter, LogQuantity } from './logParameters.ts';
export { type ResidualSummary, residualsOf, summarise } from './logResiduals.ts';
export { forKnots, ocvKnots } from './ocvKnots.ts';
export { fitSupply } from './supplyFit.ts';
