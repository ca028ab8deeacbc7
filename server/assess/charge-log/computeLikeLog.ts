import type { ChargeLog } from '../../../fitting/charge-log/index.ts';
import type { SimulatedCharge } from '../../../fitting/charging/index.ts';
import {
  type ChargeSetup,
  type CompiledCell,
  lowestStartSoc,
  OCV,
  SLOPE,
  simulateCharge,
  socAtOcv,
} from '../../../fitting/charging/index.ts';
import type { ChargeStudyDescription } from '../../contract/chargeStudy.ts';
import { fieldError, Refusal } from '../../errors.ts';
import { chargeSetupOf } from '../charging/chargeSetupOf.ts';
import type { LogConditions } from './logConditions.ts';

/** The charge of the study's cells under the conditions of a log. */
export interface ComputedCharge {
  readonly setup: ChargeSetup;
  readonly charge: SimulatedCharge;
  /** At the log's first row. */
  readonly startSocs: readonly { readonly soc: number; readonly from: 'rest' | 'study' }[];
  readonly chargeAh: number;
  readonly warnings: readonly string[];
}

/** A current reading above the rating by less than this is the channel's error. */
const RATING_TOLERANCE = 1.01;
const SOCS = [0.5, 0.8] as const;
/** A shorter pause moves no time by as much as two of them are told apart. */
const LEAST_PAUSE_S = 5;

/**
 * Computes the charge that the log measured: start SOC from the voltages of the log's rest, its stages of current, the voltage that it
 * held, its end current, its surroundings. Source, cable and converter are left out: what they delivered is in the log.
 *
 * @throws Refusal `not-evaluable` where a start voltage is not an open-circuit voltage of the study's cell.
 */
export function computeLikeLog(
  log: ChargeLog,
  conditions: LogConditions,
  description: ChargeStudyDescription,
): ComputedCharge {
  const warnings: string[] = [];
  const { stages, taper, endCurrentA, beginsAtRest } = conditions;
  const { source: _s, cable: _c, converter: _v, temperatureZones: _z, ...cellsAndStack } = description;
  const base = chargeSetupOf({
    ...cellsAndStack,
    stack: { ...description.stack, ambientTemperatureC: log.ambientTemperatureC },
    phases: {
      stages: stages.map((stage, s) => ({
        currentA: stage.currentA,
        ...(s < stages.length - 1 ? { until: { durationS: stage.durationS } } : {}),
      })),
      end: { currentA: endCurrentA },
      taper: 'continuous',
      restAfterS: 0,
      maxDurationS: 2 * (log.timeS[log.timeS.length - 1] - log.timeS[0]) + 3600,
    },
    questions: { stackOnly: false, timesAtSoc: [...SOCS] },
  });
  const pausedS = conditions.pausedS[conditions.lastRow];
  if (pausedS > LEAST_PAUSE_S)
    warnings.push(
      `the charge was interrupted for ${(pausedS / 60).toFixed(1)} min in all: times are those under current, as in the computed charge, which has no pauses`,
    );
  if (!beginsAtRest)
    warnings.push(
      'the log begins under current: start SOC is that of the study, and earlier polarisation is not known',
    );
  const startSocs = base.setup.cells.map(({ cell, startSoc }, k) => {
    if (!beginsAtRest) return { soc: startSoc, from: 'study' as const };
    const voltage = conditions.startVoltagesV[k];
    const temperatureC = log.cells[k].temperatureC?.[0] ?? log.ambientTemperatureC;
    const [first] = cell.model.soc;
    const least = socBelowCurve(cell, voltage, temperatureC);
    if (least !== null)
      warnings.push(
        `${description.cells[k].name} starts at ${voltage.toFixed(3)} V, below its open-circuit curve: start SOC between ${(100 * least).toFixed(1)} % (first slope of the curve) and ${(100 * first).toFixed(1)} % (its first point), because a real curve falls more steeply; the middle is taken, and the computed time is uncertain by as much charge`,
      );
    const soc = least === null ? socAtOcv(cell, voltage, temperatureC) : (least + first) / 2;
    if (soc === null)
      throw new Refusal('not-evaluable', 'Log and study do not belong together.', [
        fieldError(
          `cells[${k}]`,
          voltage.toFixed(4),
          `V at rest is outside the open-circuit curve of ${description.cells[k].name}`,
          'the study of the cells that were charged',
        ),
      ]);
    return { soc, from: 'rest' as const };
  });
  const rated = Math.min(...base.setup.cells.map((cell) => cell.ratedCurrentA));
  const largest = Math.max(...stages.map((stage) => stage.currentA));
  if (largest > rated * RATING_TOLERANCE)
    warnings.push(
      `the logged current ${largest.toFixed(2)} A is above the datasheet rating ${rated.toFixed(2)} A`,
    );
  const setup: ChargeSetup = {
    ...base.setup,
    cells: base.setup.cells.map((cell, k) => ({
      ...cell,
      startSoc: Math.min(
        Math.max(
          startSocs[k].soc + conditions.movedBeforeAh / cell.cell.model.capacityAh,
          lowestStartSoc(cell.cell),
        ),
        1,
      ),
      startTemperatureC: log.cells[k].temperatureC?.[0] ?? log.ambientTemperatureC,
      ratedCurrentA: Math.max(cell.ratedCurrentA, largest),
      voltageLimitV: taper?.held === 'cell' ? taper.limitV : cell.voltageLimitV,
      datasheetVoltageV: Math.max(cell.datasheetVoltageV, taper?.held === 'cell' ? taper.limitV : 0),
    })),
    watch: taper?.held === 'stack' ? 'stack-only' : 'per-cell',
    stackVoltageLimitV: taper?.held === 'stack' ? taper.limitV : base.setup.stackVoltageLimitV,
  };
  if (taper?.held === 'stack')
    warnings.push(
      'only the stack voltage was held in this charge: no limit kept a single cell from overcharge',
    );
  const over = setup.cells.findIndex(
    (cell, k) => cell.voltageLimitV > description.cells[k].datasheet.maxVoltageV + 0.002,
  );
  if (over >= 0)
    warnings.push(
      `the voltage held, ${setup.cells[over].voltageLimitV.toFixed(3)} V, is above the datasheet limit of ${description.cells[over].name}`,
    );
  const charge = simulateCharge(setup);
  const moved = charge.cells.map(
    (cell, k) => (cell.endSoc - cell.startSoc) * setup.cells[k].cell.model.capacityAh,
  );
  return { setup, charge, startSocs, chargeAh: moved[0], warnings };
}

/** Up to here the chords from a curve's first point are compared with its first slope, in SOC. */
const LOW_END = 0.05;

/**
 * SOC of a voltage below the open-circuit curve, by its slope at the low end: the least that it can be. A real curve becomes steeper
 * towards empty, so that the steepest chord from its first point counts where the first slope is a fit's and not well known. Null
 * where that is too far down, or not below the curve.
 */
function socBelowCurve(cell: CompiledCell, voltageV: number, temperatureC: number): number | null {
  const out = new Float64Array(cell.stride);
  const [first] = cell.model.soc;
  cell.evaluate(first, temperatureC, 0, cell.temperatureStretch(temperatureC), out, 0);
  const [firstV, firstSlopeV] = [out[OCV], out[SLOPE]];
  let steepestV = firstSlopeV;
  for (const soc of cell.model.soc) {
    if (soc <= first || soc > first + LOW_END) continue;
    cell.evaluate(soc, temperatureC, cell.socStretch(soc), cell.temperatureStretch(temperatureC), out, 0);
    steepestV = Math.max(steepestV, (out[OCV] - firstV) / (soc - first));
  }
  if (!(steepestV > 0 && voltageV < firstV)) return null;
  const soc = first - (firstV - voltageV) / steepestV;
  return soc >= lowestStartSoc(cell) ? soc : null;
}
