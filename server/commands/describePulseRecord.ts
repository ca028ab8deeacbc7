import { cautionSentences, generalCautions } from '../contract/cautions.ts';
import type { EvaluatedPulse } from '../contract/evaluatedPulse.ts';
import type { EvaluatedPulseRecord } from '../contract/pulseRecord.ts';

/** A readable summary of an evaluated pulse record; everything is in the JSON. */
export function describePulseRecord(result: EvaluatedPulseRecord): string {
  const { record, pulses, steps, rests, openCircuit, warnings } = result;
  const lines = [
    `${record.rows} rows over ${(record.durationS / 3600).toFixed(2)} h, ${steps.length} steps, ${pulses.length} pulses, ${rests.length} rests`,
    `voltage resolution ${millis(record.voltageResolutionV)} mV, noise ${millis(record.voltageNoiseV)} mV`,
    '',
    'pulse    start s     A        SOC %   R(t) in mOhm, then the circuit: R0 in mOhm, tau in s',
    ...pulses.map(pulseLine),
  ];
  if (openCircuit) {
    lines.push('', `open-circuit curve of ${openCircuit.soc.length} points from ${openCircuit.source}`);
  }
  if (warnings.length > 0) lines.push('', ...notesOf(warnings));
  lines.push('', 'Cautions', ...generalCautions.map((code) => `  ${cautionSentences[code]}`));
  return `${lines.join('\n')}\n`;
}

/** One line for each kind of warning: the first of it, and how many more there are. */
function notesOf(warnings: EvaluatedPulseRecord['warnings']): string[] {
  return [...new Set(warnings.map((warning) => warning.code))].map((code) => {
    const alike = warnings.filter((warning) => warning.code === code);
    const where = alike[0].timeS === null ? '' : ` (at ${alike[0].timeS.toFixed(1)} s)`;
    const more = alike.length > 1 ? `, and ${alike.length - 1} more like this` : '';
    return `note: ${alike[0].message}${where}${more}`;
  });
}

function pulseLine(pulse: EvaluatedPulse): string {
  const resistances = pulse.resistances
    .filter((resistance) => resistance.valueOhm !== null)
    .map((resistance) => `${resistance.durationS} s: ${millis(resistance.valueOhm as number)}`)
    .join('  ');
  const { circuit } = pulse;
  const taus = circuit
    ? [circuit.tau1S, circuit.tau2S, circuit.tau3S].filter((tau): tau is number => tau !== null)
    : [];
  const model = circuit
    ? `R0 ${millis(circuit.r0Ohm)}${taus.length > 0 ? `, tau ${taus.map((tau) => tau.toPrecision(3)).join(', ')}` : ''}`
    : `no circuit (${pulse.circuitReason})`;
  return [
    String(pulse.index).padStart(5),
    pulse.startTimeS.toFixed(1).padStart(10),
    pulse.currentA.toFixed(3).padStart(9),
    (pulse.socBefore === null ? '-' : (100 * pulse.socBefore).toFixed(1)).padStart(7),
    ` ${resistances} | ${model}`,
  ].join(' ');
}

function millis(value: number): string {
  return (1000 * value).toPrecision(4);
}
