import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';
import { evaluatePulseRecord } from '../../server/assess/pulse/evaluatePulseRecord.ts';
import type { EvaluatedPulseRecord } from '../../server/contract/pulseRecord.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { readRuns } from '../../server/import/readRecordFile.ts';
import type { PulseScenario } from './pulseScenarios.ts';
import { recordText, simulatedRecord, stepResponse } from './simulatedPulses.ts';

/** One reported quantity of a scenario, counted over its records. */
export interface CoverageCount {
  reported: number;
  covered: number;
  conditional: number;
  /** Σ of the standard uncertainties and of the errors, relative to the truth. */
  uncertainty: number;
  error: number;
}

/** A scenario's counts by quantity, and what was refused or said. */
export interface ScenarioCoverage {
  records: number;
  readonly quantities: Record<string, CoverageCount>;
  /** How often each sentence, reason and verdict came. */
  readonly said: Record<string, number>;
}

/** A value with its standard uncertainty, beside the truth. */
interface Compared {
  readonly name: string;
  readonly value: number | null;
  readonly uncertainty: number | null;
  readonly truth: number;
  readonly conditional: boolean;
}

/** Normal quantile of a 95 % interval. */
const Z95 = 1.959964;

/** What one record of a scenario, read and evaluated as the command does it, says. */
export async function evaluateScenario(scenario: PulseScenario, seed: number): Promise<EvaluatedPulseRecord> {
  const random = seededRandom(seed);
  const record = simulatedRecord(scenario.bench, random, normalSource(random));
  const bytes = new TextEncoder().encode(recordText(record));
  const [run] = await readRuns(bufferSource(bytes));
  return evaluatePulseRecord(run.columns, {});
}

/** Counts how often the reported 95 % intervals of a scenario hold the truth. */
export async function scenarioCoverage(
  scenario: PulseScenario,
  firstSeed: number,
  records: number,
): Promise<ScenarioCoverage> {
  const found: ScenarioCoverage = { records, quantities: {}, said: {} };
  for (let k = 0; k < records; k++) {
    const result = await evaluateScenario(scenario, firstSeed + k);
    for (const one of compare(scenario, result, (text) => {
      found.said[text] = (found.said[text] ?? 0) + 1;
    })) {
      count(found.quantities, one);
    }
  }
  return found;
}

/** Adds the counts of one part of a scenario's records to those of another. */
export function mergeCoverage(into: ScenarioCoverage, part: ScenarioCoverage): void {
  into.records += part.records;
  for (const [name, counts] of Object.entries(part.quantities)) {
    const own = into.quantities[name] ?? { ...counts };
    if (into.quantities[name]) {
      for (const key of Object.keys(counts) as (keyof CoverageCount)[]) own[key] += counts[key];
    }
    into.quantities[name] = own;
  }
  for (const [text, times] of Object.entries(part.said)) into.said[text] = (into.said[text] ?? 0) + times;
}

function count(quantities: Record<string, CoverageCount>, one: Compared): void {
  const counts = quantities[one.name] ?? {
    reported: 0,
    covered: 0,
    conditional: 0,
    uncertainty: 0,
    error: 0,
  };
  quantities[one.name] = counts;
  if (one.value === null || one.uncertainty === null) return;
  counts.reported++;
  const error = one.value - one.truth;
  if (Math.abs(error) <= Z95 * one.uncertainty) counts.covered++;
  if (one.conditional) counts.conditional++;
  counts.uncertainty += one.uncertainty / one.truth;
  counts.error += error / one.truth;
}

function compare(
  scenario: PulseScenario,
  result: EvaluatedPulseRecord,
  say: (text: string) => void,
): Compared[] {
  const { cell } = scenario.bench;
  const pulse = result.pulses.at(scenario.pulse);
  say(`${result.pulses.length} pulses`);
  for (const { code } of result.warnings) say(`warning ${code}`);
  if (pulse === undefined) return [];
  say(`ended by ${pulse.endedBy}`);
  const compared: Compared[] = [];
  for (const { durationS, valueOhm, standardUncertaintyOhm, reason, conditional } of pulse.resistances) {
    if (durationS > 10) continue;
    if (reason !== null) say(`R(${durationS} s) ${reason}`);
    compared.push({
      name: `R(${durationS} s)`,
      value: valueOhm,
      uncertainty: standardUncertaintyOhm,
      truth: stepResponse(cell, durationS),
      conditional: conditional !== null,
    });
  }
  if (scenario.twoLevel) {
    const level = result.twoLevelResistances[0];
    compared.push({
      name: 'Rdc',
      value: level?.valueOhm ?? null,
      uncertainty: level?.standardUncertaintyOhm ?? null,
      truth: twoLevelTruth(scenario),
      conditional: false,
    });
  }
  const { circuit } = pulse;
  say(circuit === null ? `no circuit: ${pulse.circuitReason}` : `${circuit.branches} branches`);
  if (circuit === null) return compared;
  say(`fit ${circuit.fitVerdict?.code}: ${circuit.fitVerdict?.reason}`);
  if (scenario.fitOnly) return compared;
  const put = (name: string, value: number | null, uncertainty: number | null, truth: number): void => {
    const conditional = circuit.conditional.some((one) => one.parameter === name);
    compared.push({ name, value, uncertainty, truth, conditional });
  };
  put('r0Ohm', circuit.r0Ohm, circuit.r0StandardErrorOhm, cell.r0Ohm);
  const fitted = [
    [circuit.r1Ohm, circuit.r1StandardErrorOhm, circuit.tau1S, circuit.tau1StandardErrorS],
    [circuit.r2Ohm, circuit.r2StandardErrorOhm, circuit.tau2S, circuit.tau2StandardErrorS],
    [circuit.r3Ohm, circuit.r3StandardErrorOhm, circuit.tau3S, circuit.tau3StandardErrorS],
  ] as const;
  fitted.forEach(([rOhm, rError, tauS, tauError], j) => {
    const truth = cell.branches[j] ?? { rOhm: 0, tauS: 0 };
    if (rOhm === null && cell.branches[j] === undefined) return;
    put(`r${j + 1}Ohm`, rOhm, rError, truth.rOhm);
    put(`tau${j + 1}S`, tauS, tauError, truth.tauS);
  });
  return compared;
}

/** (U₁ − U₂)/(I₂ − I₁) with U₁ just before the second level and U₂ 1 s after it, for two levels out of rest. */
function twoLevelTruth({ bench: { cell, programme } }: PulseScenario): number {
  const [, first, second] = programme;
  const before = first.currentA * stepResponse(cell, first.durationS);
  const after =
    first.currentA * stepResponse(cell, first.durationS + 1) +
    (second.currentA - first.currentA) * stepResponse(cell, 1);
  return (after - before) / (second.currentA - first.currentA);
}
