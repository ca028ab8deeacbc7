import type { SeriesResistance, SlowCurve } from '../../../fitting/open-circuit/index.ts';
import { currentOffset } from '../../../fitting/open-circuit/index.ts';
import type { RecordColumns, StartSocBasis } from '../../../fitting/records/index.ts';
import type { EvaluatedPulse } from '../../contract/evaluatedPulse.ts';
import type { PulseWarning } from '../../contract/pulseRecord.ts';
import type { PulseFindings } from './pulseFindings.ts';

/** What a reader should know about the record before trusting the figures. */
export function pulseWarnings(
  given: RecordColumns,
  findings: PulseFindings,
  series: SeriesResistance,
  slow: SlowCurve | null,
  evaluated: readonly EvaluatedPulse[],
): PulseWarning[] {
  const { record } = findings;
  const warnings: PulseWarning[] = [];
  const add: Add = (code, message, row = null) => {
    warnings.push({
      code,
      message,
      row: row === null ? null : findings.rowOf(row),
      timeS: row === null ? null : record.timeS[row],
    });
  };
  addBadReadings(given, findings, warnings);
  addChannelsOutOfStep(given, findings, warnings);
  addRows(findings, add);
  addPulses(findings, add);
  addCircuits(findings, evaluated, add);
  addReversed(findings, add);
  addChannels(findings, series, add);
  if (slow?.dischargeAh != null && slow.chargeAh !== null) addBalance(slow, findings, add);
  return warnings;
}

/** Readings that cannot be the cell's; the rows are those of the record as it was given. */
function addBadReadings({ timeS }: RecordColumns, { bad }: PulseFindings, warnings: PulseWarning[]): void {
  for (const { row, column, value } of bad) {
    const [code, message] =
      column === 'voltageV'
        ? [
            'voltage-spike',
            `A single reading of ${value} V that its neighbours and the current do not explain was left out.`,
          ]
        : ['current-spike', `A single reading of ${value} A that the voltage does not answer was left out.`];
    warnings.push({ code, message, row, timeS: timeS[row] });
  }
}

/** Rows that hold no reading of their own, or readings of two moments; counted in the record as it was given. */
function addChannelsOutOfStep(
  { timeS }: RecordColumns,
  { repeated, late }: PulseFindings,
  warnings: PulseWarning[],
): void {
  if (repeated !== null) {
    const name = repeated.column === 'voltageV' ? 'voltage' : 'current';
    const message = `The ${name} is renewed only every ${repeated.periodS.toPrecision(2)} s: ${repeated.rows} rows repeat an earlier reading and were left out.`;
    warnings.push({ code: 'readings-repeated', message, row: null, timeS: null });
  }
  if (late.length > 0) {
    const message = `In ${late.length} rows at edges the voltage has answered a change of current that the current column shows only later; they were left out.`;
    warnings.push({ code: 'current-column-late', message, row: late[0], timeS: timeS[late[0]] });
  }
}

type Add = (code: string, message: string, row?: number | null) => void;

/** What is odd about single rows. */
function addRows({ record, finding }: PulseFindings, add: Add): void {
  for (const step of finding.steps) {
    if (step.gapBeforeS > 0) {
      add(
        'gap',
        `${(step.gapBeforeS / 60).toFixed(1)} minutes without rows: what happened there is not known.`,
        step.start,
      );
    }
    if (step.clockRestarted) add('clock-restarted', 'The time starts again here.', step.start);
  }
  for (const row of finding.spikeRows) {
    add(
      'current-spike',
      `A single reading of ${record.currentA[row]} A that the voltage does not answer was left out.`,
      row,
    );
  }
  for (const row of finding.contradictedRows) {
    add(
      'step-column-contradicted',
      'The current starts, ends or turns here, while the step column stays the same.',
      row,
    );
  }
}

/** What is odd about the pulses. */
function addPulses({ pulses, unanswered, circuits, finding }: PulseFindings, add: Add): void {
  if (unanswered.length > 0) {
    const largestA = Math.max(...unanswered.map((step) => Math.abs(step.currentA - step.baseCurrentA)));
    add(
      'steps-not-answered',
      `${unanswered.length} short steps of current of up to ${(1000 * largestA).toPrecision(2)} mA are not pulses: the voltage does not follow them by more than its noise of ${(1000 * finding.voltageNoiseV).toPrecision(2)} mV.`,
      unanswered[0].start,
    );
  }
  if (pulses.length === 0) {
    add('no-pulses', 'No pulse was found: no short step of current out of a rest or another steady current.');
  }
  const limited = pulses.filter((pulse) => pulse.endedBy === 'voltage-limit');
  if (limited.length > 0) {
    add(
      'voltage-limit',
      `${limited.length} of ${pulses.length} pulses were ended or cut back by a voltage limit.`,
      limited[0].start,
    );
  }
  const { voltageLag } = circuits;
  if (voltageLag !== null) {
    const { lagS, standardErrorS } = voltageLag;
    add(
      'voltage-channel-lags',
      `The voltage follows every edge of the current ${lagS.toFixed(3)} s (± ${standardErrorS.toFixed(3)} s) late, as through a filter: readings within ${(5 * lagS).toFixed(2)} s of an edge are not the cell's alone, and resistances at so short a time read low. The circuit fits see through it.`,
    );
  }
  if (circuits.deadS > 0) {
    add(
      'unsettled-readings',
      `Current and voltage take ${circuits.deadS.toFixed(2)} s to settle together after an edge; the circuit fits leave those readings out, so nothing faster can be separated from R0.`,
    );
  }
}

/** Circuits that are no more than a fit, and pulses whose past is not in the record. */
function addCircuits({ pulses }: PulseFindings, evaluated: readonly EvaluatedPulse[], add: Add): void {
  const poor = evaluated.filter((pulse) => pulse.circuit?.fitVerdict?.code === 'poor');
  if (poor.length > 0) {
    const worst = poor.reduce((a, b) => (largest(b) > largest(a) ? b : a));
    const share = 100 * (worst.circuit?.fitVerdict?.shareOfPulse ?? 1);
    add(
      'circuit-fits-poorly',
      `${poor.length} of ${evaluated.length} circuits miss the voltage by a twentieth of the pulse or more, up to ${(1000 * largest(worst)).toPrecision(3)} mV (${share.toFixed(0)} %): their parameters describe the fit, not the cell. R(t) does not depend on them.`,
      pulses[worst.index].start,
    );
  }
  const unknown = evaluated.filter((pulse) => pulse.earlierCurrent === 'unknown');
  if (unknown.length > 0) {
    add(
      'earlier-current-unknown',
      `Before ${unknown.length} of ${evaluated.length} pulses there are too few rows to see what earlier currents still do: the resistances of these pulses hold only if it is nothing.`,
      pulses[unknown[0].index].start,
    );
  }
}

const largest = (pulse: EvaluatedPulse): number => pulse.circuit?.fitVerdict?.largestResidualV ?? 0;

/** Charging raises a cell's voltage: where most pulses do the opposite, a sign is turned round. */
function addReversed({ record, pulses, finding, readings }: PulseFindings, add: Add): void {
  const { voltageV } = record;
  const visibleV = 5 * finding.voltageNoiseV;
  const moves = pulses.flatMap((pulse, index) => {
    if (pulse.start === 0) return [];
    const { loadedEnd, baseAt } = readings[index];
    const moved = voltageV[loadedEnd - 1] - baseAt(record.timeS[pulse.start - 1]).voltageV;
    return Math.abs(moved) > visibleV ? [{ pulse, moved }] : [];
  });
  const against = moves.filter(
    ({ pulse, moved }) => Math.sign(moved) !== Math.sign(pulse.currentA - pulse.baseCurrentA),
  );
  if (2 * against.length <= moves.length) return;
  add(
    'voltage-against-current',
    `In ${against.length} of ${moves.length} pulses the voltage moves against the current: the current's sign is turned round. Take the file again with the sign stated; resistances of this evaluation mean nothing.`,
    against[0].pulse.start,
  );
}

const startWords: Readonly<Record<StartSocBasis, string>> = {
  'begins-full': 'the record begins at rest at the upper voltage limit',
  'reaches-full': 'a charge of the record is held at the upper limit until its current is small',
  'reaches-empty': 'a discharge of the record ends at the lower voltage limit',
};

/** What is odd about the channels: the count of charge, the current in rest, the jumps of the voltage. */
function addChannels(
  { record, finding, settings, soc, derivedStart }: PulseFindings,
  series: SeriesResistance,
  add: Add,
): void {
  const ofCapacity = settings.cellCapacityAh === null ? 'the rated capacity' : 'the cell’s own capacity';
  if (derivedStart !== null) {
    add(
      'start-soc-derived',
      `No start SOC was stated; ${startWords[derivedStart.basis]}, so it began at ${(100 * derivedStart.soc).toFixed(1)} % of ${ofCapacity}.`,
      derivedStart.row,
    );
  }
  const last = soc.socAt(record.timeS.length - 1);
  if (last !== null && (last < -0.05 || last > 1.05)) {
    add(
      'soc-out-of-range',
      `The counted SOC ends at ${(100 * last).toFixed(1)} %: start SOC, ${ofCapacity} or the current channel does not fit.`,
    );
  }
  const offset = finding.scale.restOffsetA ?? 0;
  if (Math.abs(offset) > Math.max(2 * finding.scale.resolutionA, 0.001 * finding.scale.largeA)) {
    add('current-offset', `The current reads ${(1000 * offset).toPrecision(3)} mA in rest.`);
  }
  if (series.suspect && series.ohm !== null) {
    add(
      'series-resistance',
      `The voltage jumps by ${(1000 * series.ohm).toPrecision(3)} mOhm at the edges, out of proportion to ${settings.ratedCapacityAh} Ah: leads or contacts may be in the reading (two-wire sensing).`,
    );
  }
}

/** Charge and discharge of a slow cycle that do not balance. */
function addBalance(slow: SlowCurve, { finding, record }: PulseFindings, add: Add): void {
  const dischargeAh = slow.dischargeAh as number;
  const chargeAh = slow.chargeAh as number;
  const longest = (sign: number): number =>
    Math.max(
      0,
      ...finding.steps
        .filter((step) => Math.sign(step.currentA) === sign && step.kind === 'constant-current')
        .map((step) => record.timeS[step.end - 1] - record.timeS[step.start]),
    );
  const found = currentOffset({ dischargeAh, chargeAh, dischargeS: longest(-1), chargeS: longest(1) });
  if (!found.suspect || found.offsetA === null) return;
  add(
    'charge-does-not-balance',
    `${dischargeAh.toFixed(3)} Ah out but ${chargeAh.toFixed(3)} Ah in: an offset of the current channel of ${(1000 * found.offsetA).toPrecision(2)} mA would explain it.`,
  );
}
