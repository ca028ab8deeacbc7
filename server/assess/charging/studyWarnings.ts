import { LEAST_HYSTERESIS_K } from '../../../fitting/charging/index.ts';
import type { ChargeNote, ChargeStudyDescription } from '../../contract/chargeStudy.ts';
import type { ChargeStudyResult } from '../../contract/chargeStudyResult.ts';
import { oneTemperatureRange } from './oneTemperature.ts';

type Answered = Pick<ChargeStudyResult, 'limits' | 'phases' | 'endReason' | 'cells'>;

/**
 * What limits the worth of a result: the notes on its parameters, and what description and computation show. A note of the
 * description replaces the one of the same code that would be found again.
 *
 * @param oneC the current of one C, A
 * @param computed what was found by computing more than the charge
 */
export function studyWarnings(
  description: ChargeStudyDescription,
  result: Answered,
  oneC: number,
  computed: readonly ChargeNote[] = [],
): ChargeNote[] {
  const notes = description.notes ?? [];
  const found = [
    ...thermalWarnings(description),
    ...oneTemperatureWarnings(description, result),
    ...converterWarnings(description),
    ...cutWarnings(description, result, oneC),
    ...pauseWarnings(result),
    ...edgeWarnings(description, result),
    ...spreadWarnings(description),
    ...computed,
  ];
  return [...notes, ...found.filter(({ code }) => notes.every((note) => note.code !== code))];
}

function thermalWarnings({ cells }: ChargeStudyDescription): ChargeNote[] {
  const without = cells.filter((cell) => cell.thermal === undefined).map((cell) => cell.name);
  if (without.length === 0) return [];
  return [
    {
      code: 'no-heat-balance',
      message: `${without.join(', ')}: no heat capacity and heat transfer, so the temperature stays where it starts.`,
    },
  ];
}

function oneTemperatureWarnings(description: ChargeStudyDescription, { cells }: Answered): ChargeNote[] {
  return cells.flatMap(({ name, peakTemperatureC }, k) => {
    const range = oneTemperatureRange(description, k, peakTemperatureC);
    if (range === null) return [];
    const { measuredC, fromC, toC } = range;
    const effect =
      fromC < measuredC
        ? 'colder, the real ones are higher: expect the voltage limit sooner and a longer charge'
        : 'warmer, the real ones are lower';
    return [
      {
        code: 'one-temperature-extrapolated',
        message: `${name}: resistances of ${measuredC} °C are used from ${fromC.toFixed(1)} to ${toC.toFixed(1)} °C; ${effect}.`,
      },
    ];
  });
}

function converterWarnings({ converter }: ChargeStudyDescription): ChargeNote[] {
  const stage = converter?.ratioStage;
  if (stage === undefined) return [];
  const { efficiency, operatingPoints, outputResistanceOhm, fixedLossCurrentA, paths } = stage;
  if (typeof efficiency === 'number' && efficiency < 1)
    return [
      {
        code: 'converter-one-efficiency',
        message:
          'One efficiency says nothing of how the converter’s loss depends on its load: the whole loss is taken as input voltage, which is ' +
          'too high at a small current. Two measured operating points tell resistance and fixed loss apart.',
      },
    ];
  const lossless = [efficiency, operatingPoints, outputResistanceOhm, fixedLossCurrentA].every(
    (value) => value === undefined,
  );
  if (typeof paths !== 'number' || (!lossless && efficiency !== 1)) return [];
  return [
    {
      code: 'converter-without-loss',
      message: 'The converter is described without losses: bus voltage, bus current and heat are too low.',
    },
  ];
}

/** A stage whose current never flowed: what was asked is not what is shown. */
function cutWarnings(
  { phases }: ChargeStudyDescription,
  { limits, phases: done }: Answered,
  oneC: number,
): ChargeNote[] {
  const asked = phases.stages.map((stage) => stage.currentA ?? (stage.rateC ?? 0) * oneC);
  const most = Math.max(...asked);
  const flowing = done.filter(
    (phase) => phase.kind === 'constant-current' || phase.kind === 'source-limited',
  );
  const highest = Math.max(0, ...flowing.map((phase) => phase.startCurrentA));
  const holding = limits.find(({ limit }) => limit !== 'precharge-current');
  if (
    highest === 0 ||
    highest >= most * (1 - 1e-6) ||
    holding === undefined ||
    holding.limit === 'stage-current'
  )
    return [];
  return [
    {
      code: 'asked-current-not-reached',
      message:
        `${amount(most, oneC)} asked; at most ${amount(highest, oneC)} flow, held by ${holding.limit}` +
        `${holding.path === null ? '' : ` of path ${holding.path + 1}`}.`,
    },
  ];
}

/** True where any cell states an uncertainty above 0 to draw from. */
export function hasUncertainty({ cells }: ChargeStudyDescription): boolean {
  return cells.some(({ uncertainty = {} }) =>
    Object.entries(uncertainty).some(([name, value]) => name !== 'r0BranchCorrelation' && value > 0),
  );
}

function spreadWarnings(description: ChargeStudyDescription): ChargeNote[] {
  if (description.questions.monteCarlo === undefined || hasUncertainty(description)) return [];
  return [
    {
      code: 'no-uncertainty',
      message:
        'No parameter has an uncertainty, so nothing can be said of how sure the times are and no interval is given: enter the uncertainties of ' +
        'capacity, resistances, open-circuit voltage or start SOC.',
    },
  ];
}

/** A shorter pause is not worth a sentence. */
const SHORTEST_PAUSE_MIN = 0.05;

/** Without hysteresis a cell stays at the edge of a zone, and the current is the one that holds it there. */
function edgeWarnings(
  { zoneHysteresisK, cells }: ChargeStudyDescription,
  { limits }: Answered,
): ChargeNote[] {
  if (zoneHysteresisK >= LEAST_HYSTERESIS_K) return [];
  const held = limits.filter(
    ({ limit, cell, startTimeS, endTimeS }) =>
      (limit === 'zone-current' || limit === 'zone-no-charge') && cell !== null && endTimeS - startTimeS > 60,
  );
  return held.map(({ cell, startTimeS, endTimeS }) => ({
    code: 'held-at-zone-edge',
    message:
      `${cells[cell ?? 0].name}: from ${(startTimeS / 60).toFixed(1)} to ${(endTimeS / 60).toFixed(1)} min a temperature zone holds the charge. ` +
      'Where the cell stays at the edge of the zone, the current goes to and fro between those of both sides; its mean holds the cell there.',
  }));
}

function pauseWarnings({ limits, phases, endReason }: Answered): ChargeNote[] {
  const found: ChargeNote[] = [];
  const paused = phases.filter((phase) => phase.kind === 'paused');
  const minutes = paused.reduce((sum, phase) => sum + phase.endTimeS - phase.startTimeS, 0) / 60;
  if (minutes > SHORTEST_PAUSE_MIN) {
    const voltage = limits.some(
      ({ limit, startTimeS }) =>
        limit === 'zone-voltage' && paused.some((phase) => phase.startTimeS === startTimeS),
    );
    found.push({
      code: 'paused-by-zone',
      message:
        `The charge pauses for ${minutes.toFixed(1)} min in all, until the temperature has left a zone ` +
        `${voltage ? 'whose voltage lies below that of the cell' : 'in which there is no charging'}.`,
    });
  }
  if (endReason === 'zone-voltage-reached')
    found.push({
      code: 'zone-voltage-reached',
      message: 'The charge ends at the voltage of a temperature zone, before the cells are full.',
    });
  return found;
}

function amount(currentA: number, oneC: number): string {
  return `${Number(currentA.toPrecision(4))} A (${Number((currentA / oneC).toPrecision(3))} C)`;
}
