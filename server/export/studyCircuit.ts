import type { ChargeStudyDescription } from '../contract/chargeStudy.ts';
import { cautionsFor } from './cautions.ts';
import type { CircuitSubject } from './circuitSubject.ts';
import { ExportRefused } from './refusal.ts';
import { softwareVersion } from './softwareVersion.ts';
import type { BenchCharge } from './spiceTestBench.ts';

/** The current at which a charge ends where the description does not say, in C. Common practice, no source. */
const usualEndRateC = 0.05;

/** The cells of a study as a circuit. */
export function studyCircuitOf(name: string, description: ChargeStudyDescription): CircuitSubject {
  const ambient = description.stack.ambientTemperatureC;
  return {
    title: name,
    cells: description.cells.map((cell) => ({
      ...cell,
      startTemperatureC: cell.startTemperatureC ?? ambient,
    })),
    notes: description.cells.map((cell) =>
      cell.thermal === undefined ? ['no heat balance: stays at its start temperature'] : [],
    ),
    ambientTemperatureC: ambient,
    cautions: cautionsFor([]).map((caution) => caution.text),
    provenance: [`gemel ${softwareVersion}, charge study "${name}"`],
  };
}

/**
 * The charge of a study as the test bench runs it: one constant current, then the limit of the cell that meets it first.
 *
 * @param endTimeS when the computed charge ended
 * @throws ExportRefused naming what of the study the bench does not have.
 */
export function studyBenchChargeOf(description: ChargeStudyDescription, endTimeS: number): BenchCharge {
  const { cells, stack, phases } = description;
  const refuse = (field: string, value: string, expected: string): never => {
    throw new ExportRefused('not-in-circuit', field, value, expected);
  };
  if (phases.stages.length !== 1)
    refuse(
      'phases.stages',
      `${phases.stages.length} stages`,
      'the test bench charges with one constant current',
    );
  if (phases.stages[0].until !== undefined)
    refuse('phases.stages.0.until', 'a condition', 'the test bench goes on until a cell meets its limit');
  if (phases.precharge !== undefined) refuse('phases.precharge', 'a precharge', 'the test bench has none');
  if (phases.taper !== 'continuous')
    refuse('phases.taper', phases.taper, 'the test bench tapers continuously');
  if (description.temperatureZones !== undefined)
    refuse('temperatureZones', 'zones', 'the test bench does not look at temperature');
  if (stack.watch !== 'per-cell') refuse('stack.watch', stack.watch, 'the test bench watches each cell');
  if (stack.bypass?.some((bypass) => bypass !== null))
    refuse('stack.bypass', 'a bypass', 'the test bench has none');
  for (const part of ['source', 'cable', 'converter'] as const)
    if (description[part] !== undefined) refuse(part, 'described', 'the test bench feeds the stack directly');
  const oneC = Math.min(...cells.map((cell) => cell.ratedCapacityAh ?? cell.capacityAh));
  const amperes = (value: { currentA?: number; rateC?: number }) =>
    value.currentA ?? (value.rateC ?? 0) * oneC;
  return {
    currentA: Math.min(amperes(phases.stages[0]), ...cells.map((cell) => cell.datasheet.maxChargeCurrentA)),
    cellVoltageLimitsV: cells.map((cell) => stack.cellVoltageLimitV ?? cell.datasheet.maxVoltageV),
    endCurrentA: phases.end === undefined ? usualEndRateC * oneC : amperes(phases.end),
    maxDurationS: Math.ceil(endTimeS) + 60,
  };
}
