/** Charging of stacks: source, cable, converter, cells, limits and their simulation. What other folders may use. */

export { BRANCH, type CellModel, CompiledCell, ENTROPIC, OCV, R0, SLOPE } from './cellModel.ts';
export type { LifeLaw, RateLimits } from './chargeRates.ts';
export { type ChargedCell, type ChargeSetup, DEFAULT_TOLERANCE, lowestStartSoc } from './chargeSetup.ts';
export { measuredConverter } from './converterMeasured.ts';
export type { Efficiency } from './efficiency.ts';
export { fitHeatBalance } from './fitHeatBalance.ts';
export { fitRatioStage } from './fitRatioStage.ts';
export { heatGenerationW, lumpedTemperatureC } from './heat.ts';
export { heatOfRecord, type RecordHeat, socAtOcv } from './heatOfRecord.ts';
export {
  type CellUncertainty,
  type DrawnCharge,
  drawCharges,
  monteCarlo,
  spreadOfDraws,
} from './monteCarlo.ts';
export type { OperatingPoint } from './operatingPoints.ts';
export { pointsOfLog } from './pointsOfLog.ts';
export { searchRate } from './rateSearch.ts';
export { rateTable } from './rateTable.ts';
export { equalPaths, RatioModel, type RatioStage } from './ratioStage.ts';
export { simulateCharge } from './simulateCharge.ts';
export type { SimulatedCharge } from './simulatedCharge.ts';
export { proposeStages } from './stagedProfile.ts';
export type { Supply } from './supply.ts';
export { LEAST_HYSTERESIS_K } from './temperatureZones.ts';
