/** A range of temperature with its own limits; null: no limit beside the others. */
export interface ZoneInput {
  readonly fromC: number;
  readonly toC: number;
  readonly maxRateC: number | null;
  readonly maxCellVoltageV: number | null;
}

/** One point of a measured efficiency. */
export interface EfficiencyPoint {
  readonly outputA: number;
  readonly percent: number;
}

/** One of several unlike paths of the converter. */
export interface PathInput {
  readonly maxA: number;
  readonly milliohm: number;
  readonly fixedLossMilliamp: number;
}

/** One measured moment of the converter: its output, and its input or its efficiency. */
export interface OperatingPointInput {
  readonly outputV: number | null;
  readonly outputA: number | null;
  readonly inputV: number | null;
  readonly inputA: number | null;
  readonly efficiencyPercent: number | null;
}

/** One constant current; it hands over to the next at whichever of its ends comes first. */
export interface StageInput {
  readonly rateC: number;
  readonly untilSocPercent: number | null;
  readonly untilCellV?: number | null;
  readonly untilC?: number | null;
  readonly untilMinutes?: number | null;
}

/** What a person sets for a charge study; the cells with their fitted parameters come from the stored draft. */
export interface StudyInputs {
  readonly startSocPercent: number;
  /** Of each cell; null or absent: the one above. */
  readonly startSocOfCells: readonly (number | null)[];
  /** null: the surroundings. */
  readonly startTemperatureC: number | null;
  /** Of each cell; null: those of the cell type or of a fit. */
  readonly heatCapacityJPerK: number | null;
  readonly heatTransferWPerK: number | null;
  readonly watch: 'per-cell' | 'stack-only';
  /** Where only the stack is watched; null: the sum of the cells' limits. */
  readonly stackVoltageLimitV: number | null;
  readonly ambientTemperatureC: number;
  /** null: the datasheet's. */
  readonly cellVoltageLimitV: number | null;
  readonly stages: readonly StageInput[];
  readonly endRateC: number;
  readonly maxTemperatureC: number | null;
  readonly bypassCurrentA: number | null;
  /** In place of a current. */
  readonly bypassOhm: number | null;
  readonly bypassStartV: number | null;
  /** null: 20 mV below the start. */
  readonly bypassStopV: number | null;
  readonly bypassAtRest: boolean;
  readonly restAfterMinutes: number;
  readonly longestHours: number;
  /** Between charger and cells, up to the point where the voltage is sensed and beyond it. */
  readonly toSenseMilliohm: number | null;
  readonly beyondSenseMilliohm: number | null;
  readonly sourceMinV: number | null;
  readonly sourceMaxV: number | null;
  readonly sourceMaxA: number | null;
  readonly sourceMaxW: number | null;
  readonly cableMilliohm: number | null;
  readonly cableMaxA: number | null;
  /** 0: no converter, the source drives the stack directly. */
  readonly ratio: 0 | 1 | 2 | 4;
  readonly paths: number;
  readonly pathMaxA: number;
  /** Counts where no resistance, fixed loss or table is given. */
  readonly efficiencyPercent: number;
  /** Of each path. */
  readonly pathMilliohm: number | null;
  readonly pathFixedLossMilliamp: number | null;
  /** Each with its own limit and losses, in place of equal ones. */
  readonly unlikePaths: readonly PathInput[];
  /** Two or more give resistance and fixed loss of the equal paths. */
  readonly operatingPoints: readonly OperatingPointInput[];
  readonly operatingPointsOf: 'one-path' | 'all-paths';
  /** Empty: none but the datasheet's window. Outside every zone the charge pauses. */
  readonly zones: readonly ZoneInput[];
  readonly zoneHysteresisK: number;
  /** null: no precharge. */
  readonly prechargeBelowV: number | null;
  readonly prechargeRateC: number;
  /** The current goes down by the source's step each time a cell reaches its limit. */
  readonly steppedTaper: boolean;
  readonly sourceStepA: number | null;
  readonly sourceStepV: number | null;
  /** null: no switching regulator. */
  readonly regulatorMaxA: number | null;
  readonly regulatorKind: 'step-down' | 'step-up' | 'step-up-down';
  readonly regulatorInputV: number;
  readonly regulatorHeadroomV: number;
  readonly regulatorEfficiencyPercent: number;
  /** At least two points replace its one efficiency. */
  readonly regulatorEfficiencyTable: readonly EfficiencyPoint[];
  /** Below these the regulator takes over from the fixed ratio. */
  readonly regulatorBelowStackV: number | null;
  readonly regulatorBelowOutputA: number | null;
  /** At least two points replace the one efficiency of the converter. */
  readonly efficiencyTable: readonly EfficiencyPoint[];
  readonly efficiencyTableOf: 'one-path' | 'all-paths';
  readonly targetSocPercent: number;
  readonly rateSearch: boolean;
  readonly stagedProfile: boolean;
  readonly stackOnly: boolean;
  readonly draws: number;
  /** Standard uncertainties of every cell; null: those of its fits. */
  readonly capacityUncertaintyPercent: number | null;
  readonly r0UncertaintyPercent: number | null;
  readonly branchUncertaintyPercent: number | null;
  readonly ocvUncertaintyMillivolt: number | null;
  readonly startSocUncertaintyPercent: number | null;
  readonly startTemperatureUncertaintyK: number | null;
  readonly heatCapacityUncertaintyPercent: number | null;
  readonly heatTransferUncertaintyPercent: number | null;
  /** Of the draws of R0 and branches, −1 to 1. */
  readonly resistanceCorrelation: number | null;
  readonly drawSeed: number;
  readonly drawLevelPercent: number;
  readonly rateTable: boolean;
  readonly rateTableC: readonly number[];
  readonly rateTableGrowthPercent: readonly number[];
  readonly leastRateC: number;
  /** null: the datasheet's rating. */
  readonly mostRateC: number | null;
  readonly leastSocAtLimitPercent: number | null;
  readonly tradeOffPoints: number;
  /** Ask for the life law of cycled cells of the lot or type beside the rates. */
  readonly withLife: boolean;
  readonly profileStages: number;
}

export const startingInputs: StudyInputs = {
  startSocPercent: 10,
  startSocOfCells: [],
  startTemperatureC: null,
  heatCapacityJPerK: null,
  heatTransferWPerK: null,
  watch: 'per-cell',
  stackVoltageLimitV: null,
  ambientTemperatureC: 25,
  cellVoltageLimitV: null,
  stages: [{ rateC: 1, untilSocPercent: null }],
  endRateC: 0.05,
  maxTemperatureC: null,
  bypassCurrentA: null,
  bypassOhm: null,
  bypassStartV: null,
  bypassStopV: null,
  bypassAtRest: false,
  restAfterMinutes: 0,
  longestHours: 24,
  toSenseMilliohm: null,
  beyondSenseMilliohm: null,
  sourceMinV: null,
  sourceMaxV: null,
  sourceMaxA: null,
  sourceMaxW: null,
  cableMilliohm: null,
  cableMaxA: null,
  ratio: 0,
  paths: 1,
  pathMaxA: 5,
  efficiencyPercent: 97,
  pathMilliohm: null,
  pathFixedLossMilliamp: null,
  unlikePaths: [],
  operatingPoints: [],
  operatingPointsOf: 'all-paths',
  zones: [],
  zoneHysteresisK: 1,
  prechargeBelowV: null,
  prechargeRateC: 0.1,
  steppedTaper: false,
  sourceStepA: null,
  sourceStepV: null,
  regulatorMaxA: null,
  regulatorKind: 'step-down',
  regulatorInputV: 9,
  regulatorHeadroomV: 0.3,
  regulatorEfficiencyPercent: 93,
  regulatorEfficiencyTable: [],
  regulatorBelowStackV: null,
  regulatorBelowOutputA: null,
  efficiencyTable: [],
  efficiencyTableOf: 'all-paths',
  targetSocPercent: 80,
  rateSearch: true,
  stagedProfile: false,
  stackOnly: true,
  draws: 0,
  capacityUncertaintyPercent: null,
  r0UncertaintyPercent: null,
  branchUncertaintyPercent: null,
  ocvUncertaintyMillivolt: null,
  startSocUncertaintyPercent: null,
  startTemperatureUncertaintyK: null,
  heatCapacityUncertaintyPercent: null,
  heatTransferUncertaintyPercent: null,
  resistanceCorrelation: null,
  drawSeed: 1,
  drawLevelPercent: 95,
  rateTable: false,
  rateTableC: [0, 10, 25, 40],
  rateTableGrowthPercent: [0, 50, 100],
  leastRateC: 0.05,
  mostRateC: null,
  leastSocAtLimitPercent: null,
  tradeOffPoints: 8,
  withLife: false,
  profileStages: 4,
};

/** What differs from the starting inputs, as text for the address. */
export function inputsText(inputs: StudyInputs): string {
  const changed = Object.entries(inputs).filter(
    ([name, value]) => JSON.stringify(value) !== JSON.stringify(startingInputs[name as keyof StudyInputs]),
  );
  return changed.length === 0 ? '' : JSON.stringify(Object.fromEntries(changed));
}

/** The inputs of an address; what is unknown or of another type than it should be is left at its start. */
export function inputsOfText(text: string): StudyInputs {
  if (text === '') return startingInputs;
  try {
    const stored = JSON.parse(text) as Record<string, unknown>;
    const entries = Object.entries(startingInputs).map(([name, start]) => {
      const value = stored[name];
      const fits =
        value !== undefined &&
        (start === null
          ? value === null || typeof value === 'number'
          : typeof value === typeof start && Array.isArray(value) === Array.isArray(start));
      return [name, fits ? value : start];
    });
    return Object.fromEntries(entries) as StudyInputs;
  } catch {
    return startingInputs;
  }
}
