import type { ProgrammeStep, SimulatedBench, SimulatedBranch, SimulatedCell } from './simulatedPulses.ts';

/** A kind of record that benches write, with the pulse that is looked at. */
export interface PulseScenario {
  readonly name: string;
  readonly bench: SimulatedBench;
  /** Which pulse of the record is compared with the truth; −1 is the last. */
  readonly pulse: number;
  /** The circuit cannot hold: only R(t) has a truth. */
  readonly fitOnly?: boolean;
  /** Why intervals that are not conditional may hold more often than in 98 %. */
  readonly wide?: string;
  /** Compare the two-level resistance as well. */
  readonly twoLevel?: boolean;
}

const A = 2.5;
const quick: SimulatedBranch = { rOhm: 0.015, tauS: 5 };
const slow: SimulatedBranch = { rOhm: 0.02, tauS: 60 };
const cell = (branches: readonly SimulatedBranch[], more: Partial<SimulatedCell> = {}): SimulatedCell => ({
  r0Ohm: 0.03,
  branches,
  ocvV: 3.7,
  slopeVPerAs: 0,
  ...more,
});
const step = (durationS: number, currentA: number): ProgrammeStep => ({ durationS, currentA });
const rest = (durationS: number): ProgrammeStep => step(durationS, 0);
const single = [rest(60), step(10, -A), rest(300)];

const usual: SimulatedBench = {
  cell: cell([quick, slow]),
  programme: single,
  intervalS: 0.1,
  phase: 0,
  noiseV: 2e-4,
  noiseA: 2e-4,
};
const scenario = (
  name: string,
  bench: Partial<SimulatedBench>,
  more: Partial<PulseScenario> = {},
): PulseScenario => ({ name, bench: { ...usual, ...bench }, pulse: -1, ...more });

const afterPulse = (restS: number): ProgrammeStep[] => [
  rest(60),
  step(10, -A),
  rest(restS),
  step(10, A),
  rest(300),
];
const afterDischarge = (restS: number): ProgrammeStep[] => [
  rest(60),
  step(600, -A),
  rest(restS),
  step(10, -A),
  rest(300),
];

const underHalf =
  'the moment of the edge is a little under half of the variance, so that the value is not marked';

/** The kinds of record whose intervals are checked. */
export const pulseScenarios: readonly PulseScenario[] = [
  scenario('rows 0.1 s, edge at the row', {}),
  scenario('rows 0.1 s, edge between rows', { phase: 'any' }),
  scenario('rows 0.5 s, edge at the row', { intervalS: 0.5 }),
  scenario('rows 0.5 s, edge between rows', { intervalS: 0.5, phase: 'any' }),
  scenario('rows 1 s, edge at the row', { intervalS: 1 }),
  scenario('rows 1 s, edge between rows', { intervalS: 1, phase: 'any' }),
  scenario('rows 0.5 s, each edge elsewhere', { intervalS: 0.5, phase: 'any', jitter: 0.3 }),
  scenario('first loaded row at the step', { phase: 0.999 }),
  scenario('ramp of 0.2 s', { phase: 'any', rampS: 0.2 }),
  scenario('current averaged over 0.5 s', { intervalS: 0.5, phase: 'any', averagedCurrent: true }),
  scenario('current that passes its level by 8 %', {
    intervalS: 0.2,
    phase: 'any',
    overshoot: { share: 0.08, lastsS: 0.1 },
  }),
  scenario('current that settles with 0.15 s', { phase: 'any', settlesWithS: 0.15 }),
  scenario('charge 20 s after a pulse', { programme: afterPulse(20), phase: 'any' }, { wide: underHalf }),
  scenario('charge 40 s after a pulse', { programme: afterPulse(40), phase: 'any' }),
  scenario('pulse with 40 s of rest after it', { programme: afterPulse(40), phase: 'any' }, { pulse: 0 }),
  scenario('charge 120 s after a pulse', { programme: afterPulse(120), phase: 'any' }),
  scenario('charge 600 s after a pulse', { programme: afterPulse(600), phase: 'any' }),
  scenario(
    'pulse 20 s after 10 min of discharge',
    { programme: afterDischarge(20), phase: 'any' },
    { wide: underHalf },
  ),
  scenario('pulse 40 s after 10 min of discharge', { programme: afterDischarge(40), phase: 'any' }),
  scenario('pulse 120 s after 10 min of discharge', { programme: afterDischarge(120), phase: 'any' }),
  scenario('pulse 600 s after 10 min of discharge', { programme: afterDischarge(600), phase: 'any' }),
  scenario('1 branch', { cell: cell([quick]), phase: 'any' }),
  scenario('3 branches', { cell: cell([{ rOhm: 0.01, tauS: 0.5 }, quick, slow]), phase: 'any' }),
  scenario('OCV slope', { cell: cell([quick, slow], { slopeVPerAs: 1e-4 }), phase: 'any' }),
  scenario('noise 0.05 mV', { noiseV: 5e-5, phase: 'any' }),
  scenario('noise 2 mV', { noiseV: 2e-3, phase: 'any' }),
  scenario(
    'steps of 1 mV and 5 mA',
    { stepV: 1e-3, stepA: 5e-3, phase: 'any' },
    {
      wide: 'a reading is off by half a step at most, and a limited error is held more often than a normal one of its size',
    },
  ),
  scenario('current offset of 10 mA', { offsetA: 0.01, phase: 'any' }),
  scenario('drifting rest, earlier current not recorded', {
    programme: [step(1500, -A), rest(900), step(10, -A), rest(300)],
    cell: cell([quick, slow, { rOhm: 0.02, tauS: 1000 }]),
    recordFromS: 2340,
    phase: 'any',
  }),
  scenario(
    'second level at once',
    { programme: [rest(60), step(10, -0.2 * A), step(10, -A), rest(300)], phase: 'any' },
    { twoLevel: true },
  ),
  scenario('discharge straight into charge', {
    programme: [rest(60), step(10, -A), step(10, A), rest(300)],
    phase: 'any',
  }),
  scenario(
    'constant-phase truth',
    {
      cell: cell([], { constantPhase: { ohmAt10S: 0.02, exponent: 0.5 } }),
      phase: 'any',
    },
    { fitOnly: true },
  ),
];
