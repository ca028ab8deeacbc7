import { SimulatedCell } from './cellModel.ts';
import { Instrument, type Sample } from './instrument.ts';
import { normal, uniformFrom } from './random.ts';
import { type CellTruth, scenario } from './scenario.ts';

/** Rest, 0.5 C charge to the limit with taper, rest, 0.2 C discharge to the cut-off, rest: four-wire. */
export function capacityTest(truth: CellTruth, number: number): Sample[] {
  const cell = new SimulatedCell(truth, 0.32);
  const bench = new Instrument(uniformFrom(scenario.seed + 1000 + number), 0, scenario.temperatureC);
  rest(cell, bench, 300, 30);
  const chargeA = 0.5 * scenario.ratedCapacityAh;
  while (cell.voltageV(chargeA) < scenario.chargeVoltageLimitV) step(cell, bench, chargeA, 20);
  let currentA = chargeA;
  while (currentA > 0.05 * scenario.ratedCapacityAh) {
    currentA = Math.min(currentA, holdCurrentA(cell, currentA));
    step(cell, bench, currentA, 20);
  }
  rest(cell, bench, 1800, 60);
  const dischargeA = -0.2 * scenario.ratedCapacityAh;
  // The bench ends a discharge by what it reads, and samples more often where the voltage falls quickly.
  do step(cell, bench, dischargeA, cell.soc < 0.06 ? 5 : 30);
  while ((bench.samples.at(-1)?.voltageV ?? 0) > scenario.dischargeCutoffV);
  rest(cell, bench, 900, 30);
  return bench.samples;
}

/** From empty (rested, just above the cut-off) a charge and then a discharge at C/20, with a rest after each: four-wire, a reading every two minutes. */
export function slowTest(truth: CellTruth, number: number): Sample[] {
  const cell = new SimulatedCell(truth, 0.006);
  const bench = new Instrument(uniformFrom(scenario.seed + 4000 + number), 0, scenario.temperatureC);
  const currentA = scenario.slowTest.rateC * scenario.ratedCapacityAh;
  rest(cell, bench, 1800, 120);
  while (cell.voltageV(currentA) < scenario.chargeVoltageLimitV) step(cell, bench, currentA, 120);
  rest(cell, bench, 3600, 120);
  // As with the quick discharge: the bench ends by what it reads, and reads more often near the end.
  do step(cell, bench, -currentA, cell.soc < 0.04 ? 30 : 120);
  while ((bench.samples.at(-1)?.voltageV ?? 0) > scenario.dischargeCutoffV);
  rest(cell, bench, 3600, 120);
  return bench.samples;
}

/** Where a pulse test was made. */
export interface PulseChamber {
  /** What the cell and the sensor really had. */
  readonly realC: number;
  /** Counts the chambers, so that each test has noise and contacts of its own; 0 is the one at 25 °C. */
  readonly index: number;
}

/**
 * From full, at 90, 70, 50, 30 and 10 % of rated charge: a discharge and a charge pulse of 10 s at 1 C, with rests; then on to the
 * cut-off and a last rest: two-wire. Below 0 °C nothing is charged, and the pulse at 10 % is left out, because a cold cell
 * might fall below its cut-off.
 */
export function pulseTest(
  truth: CellTruth,
  number: number,
  chamber: PulseChamber = { realC: scenario.temperatureC, index: 0 },
): Sample[] {
  const cell = new SimulatedCell(truth, 1, chamber.realC);
  const stream = 2000 + 10_000 * chamber.index + number;
  const bench = new Instrument(uniformFrom(scenario.seed + stream), insertedOhm(stream), chamber.realC);
  const rated = scenario.ratedCapacityAh;
  const cold = chamber.realC < 0;
  rest(cell, bench, 1800, 20);
  let removedAh = 0;
  for (const soc of cold ? [0.9, 0.7, 0.5, 0.3] : [0.9, 0.7, 0.5, 0.3, 0.1]) {
    const toRemoveAh = (1 - soc) * rated - removedAh;
    move(cell, bench, -rated, (toRemoveAh / rated) * 3600, 10);
    removedAh += toRemoveAh;
    rest(cell, bench, 1800, 20);
    pulse(cell, bench, -rated);
    if (!cold) pulse(cell, bench, rated);
  }
  do step(cell, bench, -rated, 10);
  while ((bench.samples.at(-1)?.voltageV ?? 0) > scenario.dischargeCutoffV);
  rest(cell, bench, 1800, 20);
  return bench.samples;
}

/** A cell at 50 % of rated charge, inserted into the same fixture again: a rest and one discharge pulse of 10 s at 1 C. */
export function insertionTest(truth: CellTruth, number: number, repeat: number): Sample[] {
  const rated = scenario.ratedCapacityAh;
  const cell = new SimulatedCell(truth, 1 - (0.5 * rated) / truth.capacityAh);
  const stream = 5000 + 100 * repeat + number;
  const bench = new Instrument(
    uniformFrom(scenario.seed + stream),
    insertedOhm(stream),
    scenario.temperatureC,
  );
  rest(cell, bench, 600, 20);
  pulse(cell, bench, -rated);
  return bench.samples;
}

/** What the 1 kHz meter reads of a cell, in ohm; 0 is the incoming inspection, others are later insertions. */
export function probeReadingOhm(truth: CellTruth, number: number, repeat: number): number {
  const uniform = uniformFrom(scenario.seed + 6000 + 100 * repeat + number);
  return normal(uniform, truth.impedance1kHzOhm, scenario.probeOhm);
}

/** The contacts of one insertion: from a stream of their own, so that the noise of the record is not touched. */
export function insertedOhm(stream: number): number {
  return normal(uniformFrom(scenario.seed + 500_000 + stream), scenario.fixtureOhm, scenario.insertionOhm);
}

/** A rested cell read every eight hours for three weeks; the voltage falls by its self-discharge. */
export function restTest(truth: CellTruth, number: number): Sample[] {
  const bench = new Instrument(uniformFrom(scenario.seed + 3000 + number), 0, scenario.temperatureC);
  const cell = new SimulatedCell(truth, 0.5 - 0.001 * (number % 5));
  const startV = cell.voltageV(0);
  for (let hour = 0; hour <= 21 * 24; hour += 8) {
    bench.timeS = hour * 3600;
    bench.note(startV + (truth.driftMvPerDay / 1000) * (hour / 24), 0);
  }
  return bench.samples;
}

function step(cell: SimulatedCell, bench: Instrument, currentA: number, durationS: number): void {
  bench.note(cell.voltageV(currentA), currentA);
  cell.advance(currentA, durationS);
  bench.timeS += durationS;
}

/** A current for exactly `durationS`, with a last shorter step, and a sample at both edges. */
function move(
  cell: SimulatedCell,
  bench: Instrument,
  currentA: number,
  durationS: number,
  everyS: number,
): void {
  let left = durationS;
  while (left > 1e-9) {
    const part = Math.min(everyS, left);
    step(cell, bench, currentA, part);
    left -= part;
  }
  bench.note(cell.voltageV(currentA), currentA);
}

function rest(cell: SimulatedCell, bench: Instrument, durationS: number, everyS: number): void {
  for (let passed = 0; passed < durationS; passed += everyS) step(cell, bench, 0, everyS);
}

/** The last sample of a rest, at the instant at which the next current begins: benches log both sides of a step. */
function endRest(cell: SimulatedCell, bench: Instrument): void {
  bench.note(cell.voltageV(0), 0);
}

/** A pulse of 10 s and the relaxation after it. */
function pulse(cell: SimulatedCell, bench: Instrument, currentA: number): void {
  endRest(cell, bench);
  move(cell, bench, currentA, 10, 0.1);
  relax(cell, bench);
}

/** Five minutes of rest after a pulse, sampled quickly at first. */
function relax(cell: SimulatedCell, bench: Instrument): void {
  rest(cell, bench, 5, 0.1);
  rest(cell, bench, 25, 0.5);
  rest(cell, bench, 270, 2);
}

/** The current that holds the voltage limit at this instant. */
function holdCurrentA(cell: SimulatedCell, lastA: number): number {
  const lowV = cell.voltageV(0);
  const ohm = (cell.voltageV(lastA) - lowV) / lastA;
  return Math.max(0, (scenario.chargeVoltageLimitV - lowV) / ohm);
}
