import type { CircuitSubject } from './circuitSubject.ts';
import { spiceLines, spiceNumber } from './spiceCell.ts';
import { spiceNames, spiceSubcircuit } from './spiceSubcircuit.ts';

/** The charge that the bench runs. */
export interface BenchCharge {
  readonly currentA: number;
  /** Limit of each cell; the current is taken back as soon as any cell reaches its own. */
  readonly cellVoltageLimitsV: readonly number[];
  /** The charge counts as complete when the current has fallen to this. */
  readonly endCurrentA: number;
  readonly maxDurationS: number;
  /** Longest step of the solver. */
  readonly maxStepS?: number;
}

/** Slope of the charger at the voltage limit, A/V: at 5 A it holds the limit to 5 microvolts. */
const chargerSlope = 1e6;

/**
 * A deck that charges the cell or the stack by constant current, then at the voltage limit of the cell that reaches it
 * first, and measures when it changes over and when it is complete. It runs as it is: the subcircuits stand in it.
 */
export function spiceTestBench(subject: CircuitSubject, charge: BenchCharge): string {
  const names = spiceNames(subject);
  const count = subject.cells.length;
  const nodes = Array.from({ length: count + 1 }, (_, i) =>
    i === 0 ? '0' : i === count ? 'pos' : `tap${i}`,
  );
  const taps = nodes.slice(1, -1).reverse();
  const states = Array.from({ length: count }, (_, i) => `soc${i + 1} tcell${i + 1}`);
  const limits = charge.cellVoltageLimitsV.map((limit) => spiceNumber(limit, 'cell voltage limit'));
  const current = spiceNumber(charge.currentA, 'charge current');
  const end = spiceNumber(charge.endCurrentA, 'end current');
  const margins = Array.from({ length: count }, (_, i) =>
    nodes[i] === '0' ? `${limits[i]} - v(${nodes[1]})` : `${limits[i]} - v(${nodes[i + 1]}, ${nodes[i]})`,
  );
  const smallest = margins.reduce((expression, margin) => `min(${expression}, ${margin})`);
  const step = spiceNumber(charge.maxStepS ?? 1);
  const duration = spiceNumber(charge.maxDurationS, 'longest duration');
  const voltages = Array.from({ length: count }, (_, i) => `v(${nodes[i + 1]})`).join(' ');
  const socs = Array.from({ length: count }, (_, i) => `v(soc${i + 1})`).join(' ');
  const statements = [
    `x1 pos ${[...taps, '0', ...states].join(' ')} ${names.stack ?? names.cells[0]}`,
    '* Node margin is the smallest distance of a cell from its limit. Where it is used up the current goes down.',
    `bmargin margin 0 v=${smallest}`,
    `bcharger 0 chg i=max(min(${current}, ${current} + ${spiceNumber(chargerSlope)} * v(margin)), 0)`,
    'vcharge chg pos 0',
    '.options reltol=1e-6 abstol=1e-9 vntol=1e-8 method=gear',
    `.tran ${step} ${duration} 0 ${step} uic`,
    '.meas tran switch_s when v(margin)=0 fall=1',
    `.meas tran end_s when i(vcharge)=${end} fall=1`,
    `.print tran i(vcharge) ${voltages} ${socs}`,
    '.end',
  ];
  const title = `* Charge with ${current} A to ${limits.join(' and ')} V on the cells, complete at ${end} A`;
  return `${title}\n${spiceSubcircuit(subject)}\n${statements.map(spiceLines).join('\n')}\n`;
}
