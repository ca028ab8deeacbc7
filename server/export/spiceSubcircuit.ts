import type { ChargeCellDescription } from '../contract/chargeStudy.ts';
import type { CircuitSubject } from './circuitSubject.ts';
import { asciiJson, commentText, uniqueIdentifiers } from './names.ts';
import { spiceCell, spiceLines } from './spiceCell.ts';

/** Names of the subcircuits of a file. */
export interface SpiceNames {
  readonly cells: readonly string[];
  /** Null for a single cell. */
  readonly stack: string | null;
}

/** The identifiers under which {@link spiceSubcircuit} defines cells and stack. */
export function spiceNames(subject: CircuitSubject): SpiceNames {
  const names = uniqueIdentifiers(['stack', ...subject.cells.map((cell) => `cell_${cell.name}`)], 'cell');
  return { cells: names.slice(1), stack: subject.cells.length > 1 ? names[0] : null };
}

/** A SPICE library: one subcircuit for each cell and, for two or more cells, one for the cells in series. */
export function spiceSubcircuit(subject: CircuitSubject): string {
  const names = spiceNames(subject);
  const blocks = [header(subject, names)];
  subject.cells.forEach((cell, i) => {
    blocks.push(
      `* ${asciiJson(cell.name)}: ${validity(cell)}\n${spiceCell(cell, names.cells[i], subject.ambientTemperatureC)}`,
    );
  });
  if (names.stack !== null) blocks.push(stackSubcircuit(subject, names, names.stack));
  return `${blocks.join('\n\n')}\n`;
}

function header(subject: CircuitSubject, names: SpiceNames): string {
  const usage =
    names.stack === null
      ? `x1 pos neg soc tcell ${names.cells[0]}`
      : `x1 ${stackPins(subject.cells.length).join(' ')} ${names.stack}`;
  const lines = [
    `* Circuit model of ${asciiJson(subject.title)}`,
    '* OCV + R0 + branches of R and C in parallel, tables over the state of charge. Units: V, A, Ohm, s, 1.',
    '* Every number is in plain exponent form, without scale letters.',
    `* Use: ${usage}`,
    '* Run with "uic", so that the states of charge begin where the parameters say.',
    '* Outside the tables edge values are held; the open-circuit voltage goes on with its last slope.',
  ];
  subject.notes.forEach((notes, i) => {
    for (const note of notes) lines.push(`* ${asciiJson(subject.cells[i].name)}: ${commentText(note)}`);
  });
  for (const caution of subject.cautions) lines.push(`* Caution: ${commentText(caution)}`);
  for (const origin of subject.provenance) lines.push(`* From ${commentText(origin)}`);
  return lines.join('\n');
}

function validity(cell: ChargeCellDescription): string {
  const last = cell.soc.length - 1;
  const temperatures = cell.temperatureC;
  const range =
    temperatures === undefined
      ? 'one temperature'
      : `${temperatures[0]} to ${temperatures[temperatures.length - 1]} degrees Celsius`;
  return `tables from SOC ${cell.soc[0]} to ${cell.soc[last]}, ${range}`;
}

function stackPins(count: number): string[] {
  const taps = Array.from({ length: count - 1 }, (_, i) => `tap${count - 1 - i}`);
  const states = Array.from({ length: count }, (_, i) => [`soc${i + 1}`, `tcell${i + 1}`]).flat();
  return ['pos', ...taps, 'neg', ...states];
}

/** Cells in series: pins from the positive end through every tap to the negative end, then the states of each cell. */
function stackSubcircuit(subject: CircuitSubject, names: SpiceNames, stack: string): string {
  const count = subject.cells.length;
  const starts = subject.cells.map((cell, i) => `soc0_${i + 1}=${cell.startSoc.toExponential()}`);
  const temperatures = subject.cells.map(
    (cell, i) => `t0_${i + 1}=${(cell.startTemperatureC ?? 25).toExponential()}`,
  );
  const ambient = (subject.ambientTemperatureC ?? subject.cells[0].startTemperatureC ?? 25).toExponential();
  const lines = [
    '* Cell 1 is at the negative end; tap1 is between cell 1 and cell 2.',
    `.subckt ${stack} ${stackPins(count).join(' ')} params: ${[...starts, ...temperatures].join(' ')} tamb=${ambient}`,
  ];
  names.cells.forEach((name, i) => {
    const pos = i === count - 1 ? 'pos' : `tap${i + 1}`;
    const neg = i === 0 ? 'neg' : `tap${i}`;
    lines.push(
      `x${i + 1} ${pos} ${neg} soc${i + 1} tcell${i + 1} ${name} soc0={soc0_${i + 1}} t0={t0_${i + 1}} tamb={tamb}`,
    );
  });
  lines.push(`.ends ${stack}`);
  return lines.map(spiceLines).join('\n');
}
