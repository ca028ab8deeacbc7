import { cautionSentences, generalCautions } from '../contract/cautions.ts';
import type { CircuitFit, EvaluatedPulse, TimedResistance } from '../contract/evaluatedPulse.ts';
import type { EvaluatedPulseRecord } from '../contract/pulseRecord.ts';
import { residualSentence } from '../contract/residualChecks.ts';
import { curveLine } from './curveLine.ts';
import { plusMinus } from './plusMinus.ts';

/** What a value holds under because the data cannot tell, where the evaluation says so. */
interface Marked {
  readonly conditional?: string | null;
}

/** A summary of an evaluated pulse record for people: warnings first, then each pulse, then Rdc; all is in the JSON. */
export function describePulseRecord(result: EvaluatedPulseRecord): string {
  const { record, pulses, steps, rests, openCircuit, warnings } = result;
  const lines = [
    `${record.rows} rows over ${(record.durationS / 3600).toFixed(2)} h, ${steps.length} steps, ${pulses.length} pulses, ${rests.length} rests`,
    `voltage resolution ${millis(record.voltageResolutionV)} mV, noise ${millis(record.voltageNoiseV)} mV`,
  ];
  const counted = socBasis(result);
  if (counted !== null) lines.push(counted);
  if (warnings.length > 0) lines.push('', ...notesOf(warnings));
  lines.push(
    '',
    'Values are given ± their standard uncertainty; (!) marks what holds only under the condition named.',
  );
  for (const pulse of pulses) lines.push('', ...pulseLines(pulse));
  const levels = result.twoLevelResistances;
  if (levels.length > 0) lines.push('', 'Rdc by two levels (IEC 61960-3)');
  for (const level of levels) {
    const value =
      level.valueOhm === null
        ? `no value (${level.reason})`
        : plusMinus(level.valueOhm, level.standardUncertaintyOhm, 'mOhm', 1000);
    lines.push(`  at ${level.startTimeS.toFixed(1)} s${socText(level.socBefore)}: ${value}${mark(level)}`);
  }
  if (openCircuit) {
    lines.push('', curveLine(openCircuit));
  }
  lines.push('', 'Cautions', ...generalCautions.map((code) => `  ${cautionSentences[code]}`));
  return `${lines.join('\n')}\n`;
}

/** In which capacity the states of charge are counted; null where there are none. */
function socBasis({ settings, pulses }: EvaluatedPulseRecord): string | null {
  const { cellCapacityAh, ratedCapacityAh } = settings;
  if (pulses.every(({ socBefore }) => socBefore === null)) return null;
  return cellCapacityAh === null
    ? `SOC counted in the rated ${ratedCapacityAh} Ah; --cell-capacity states the cell's own`
    : `SOC counted in the cell's own ${cellCapacityAh} Ah`;
}

/** One line for each kind of warning: the first of it, and how many more there are. */
function notesOf(warnings: EvaluatedPulseRecord['warnings']): string[] {
  return [...new Set(warnings.map((warning) => warning.code))].map((code) => {
    const alike = warnings.filter((warning) => warning.code === code);
    const where = alike[0].timeS === null ? '' : ` (at ${alike[0].timeS.toFixed(1)} s)`;
    const more = alike.length > 1 ? `, and ${alike.length - 1} more like this` : '';
    return `warning: ${alike[0].message}${where}${more}`;
  });
}

function pulseLines(pulse: EvaluatedPulse): string[] {
  const head = `pulse ${pulse.index}  at ${pulse.startTimeS.toFixed(1)} s  ${pulse.currentA.toFixed(3)} A  ${pulse.direction} for ${pulse.durationS.toPrecision(3)} s${socText(pulse.socBefore)}${pulse.endedBy === 'time' ? '' : `  ended by ${pulse.endedBy}`}`;
  const given = pulse.resistances.filter((resistance) => resistance.valueOhm !== null);
  const missing = pulse.resistances.filter((resistance) => resistance.valueOhm === null);
  const lines = [
    head,
    ...given.map((resistance) => `  R(${resistance.durationS} s)  ${resistanceText(resistance)}`),
  ];
  for (const reason of new Set(missing.map((resistance) => resistance.reason))) {
    const durations = missing
      .filter((resistance) => resistance.reason === reason)
      .map(({ durationS }) => durationS);
    lines.push(`  R(${durations.join(', ')} s)  no value: ${reason}`);
  }
  if (pulse.circuit === null) return [...lines, `  circuit  none: ${pulse.circuitReason}`];
  return [...lines, ...circuitLines(pulse.circuit)];
}

function resistanceText(resistance: TimedResistance): string {
  const value = plusMinus(resistance.valueOhm as number, resistance.standardUncertaintyOhm, 'mOhm', 1000);
  return `${value}${mark(resistance)}`;
}

function circuitLines(circuit: CircuitFit): string[] {
  const { fitVerdict, conditional } = circuit as CircuitFit & {
    fitVerdict?: { code: string; reason: string | null } | null;
    conditional?: readonly { parameter: string; on: string }[];
  };
  const condition = (parameter: string): string => {
    const found = conditional?.find((one) => one.parameter.startsWith(parameter));
    return mark({ conditional: found?.on ?? null });
  };
  const parts = [
    `R0 ${plusMinus(circuit.r0Ohm, circuit.r0StandardErrorOhm, 'mOhm', 1000)}${condition('r0')}`,
    ...branchesOf(circuit).map(
      ([r, rError, tau, tauError], k) =>
        `R${k + 1} ${plusMinus(r, rError, 'mOhm', 1000)}${condition(`r${k + 1}`)}, tau${k + 1} ${plusMinus(tau, tauError, 's')}${condition(`tau${k + 1}`)}`,
    ),
  ];
  const { residualCheck, candidates } = circuit;
  const verdict = fitVerdict
    ? `${fitVerdict.code}${fitVerdict.reason === null ? '' : ` (${fitVerdict.reason})`}`
    : residualCheck.verdict;
  const widened =
    circuit.standardErrorFactor > 1
      ? `, standard errors widened ${circuit.standardErrorFactor.toPrecision(2)} times`
      : '';
  const refused = candidates
    .filter((candidate) => !candidate.chosen && candidate.reason !== null)
    .map(
      (candidate) =>
        `${candidate.branches} RC${candidate.withSlope ? ' with OCV slope' : ''}: ${candidate.reason}`,
    );
  return [
    `  circuit  ${circuit.branches} RC: ${parts.join('; ')}`,
    `  residuals  ${verdict}: ${millis(circuit.residualSdV)} mV rms, largest ${millis(residualCheck.largestV)} mV${widened}`,
    ...(circuit.residualChecks === null ? [] : [`  ${residualSentence(circuit.residualChecks)}`]),
    ...(refused.length > 0 ? [`  refused  ${refused.join('; ')}`] : []),
  ];
}

function branchesOf(circuit: CircuitFit): [number, number | null, number, number | null][] {
  const all = [
    [circuit.r1Ohm, circuit.r1StandardErrorOhm, circuit.tau1S, circuit.tau1StandardErrorS],
    [circuit.r2Ohm, circuit.r2StandardErrorOhm, circuit.tau2S, circuit.tau2StandardErrorS],
    [circuit.r3Ohm, circuit.r3StandardErrorOhm, circuit.tau3S, circuit.tau3StandardErrorS],
  ] as const;
  return all.flatMap(([r, rError, tau, tauError]) =>
    r === null || tau === null
      ? []
      : [[r, rError, tau, tauError] as [number, number | null, number, number | null]],
  );
}

function mark(value: object): string {
  const { conditional } = value as Marked;
  return conditional ? ` (!) ${conditional}` : '';
}

function socText(soc: number | null): string {
  return soc === null ? '  SOC unknown' : `  SOC ${(100 * soc).toFixed(1)} %`;
}

function millis(value: number): string {
  return (1000 * value).toPrecision(3);
}
