import type { ChargeCellDescription } from '../contract/chargeStudy.ts';
import type { CellParameters, ParameterSet } from '../contract/parameterSet.ts';
import { type CircuitChoice, circuitModelOf } from './circuitModel.ts';
import { ExportRefused } from './refusal.ts';

/** What a circuit file or a firmware header is about. */
export interface CircuitSubject {
  /** Name that people gave the cell, the pair or the stack. */
  readonly title: string;
  /** One entry: a cell. Two or more: cells in series, the first at the negative end. */
  readonly cells: readonly ChargeCellDescription[];
  /** For each cell what a reader must know. */
  readonly notes: readonly (readonly string[])[];
  /** Temperature around the cells; where left out, that at which each cell starts. */
  readonly ambientTemperatureC?: number;
  readonly cautions: readonly string[];
  /** Where the numbers came from, one line each. */
  readonly provenance: readonly string[];
}

/**
 * The circuit models of a parameter set of a cell, a pair or a stack.
 * @throws ExportRefused for other kinds, and where a model cannot be made.
 */
export function circuitSubjectOf(set: ParameterSet, choice: CircuitChoice = {}): CircuitSubject {
  if (set.kind !== 'cell' && set.kind !== 'pair' && set.kind !== 'stack')
    throw new ExportRefused(
      'wrong-subject',
      'subject',
      set.kind,
      'a circuit model is of one cell, a pair or a stack',
    );
  const cells = inSeries(set);
  const models = cells.map((cell) => circuitModelOf(cell, set.cellType, choice));
  return {
    title: set.subject.name,
    cells: models.map((model) => model.cell),
    notes: models.map((model) => model.notes),
    cautions: set.cautions.map((caution) => caution.text),
    provenance: provenanceLines(set, cells),
  };
}

/** The cells in the order of the stack, from the negative end. */
function inSeries(set: ParameterSet): CellParameters[] {
  const order = set.stack?.cellIds ?? set.pairs[0]?.cellIds ?? set.cells.map((cell) => cell.id);
  return order.map((id) => {
    const cell = set.cells.find((candidate) => candidate.id === id);
    if (cell === undefined)
      throw new ExportRefused(
        'wrong-subject',
        `cell ${id}`,
        null,
        'the document names it but does not hold it',
      );
    return cell;
  });
}

function provenanceLines(set: ParameterSet, cells: readonly CellParameters[]): string[] {
  const { provenance } = set;
  const lines = [`gemel ${provenance.software.version}, parameter set version ${set.schemaVersion}`];
  for (const cell of cells) {
    const fitIds = new Set([cell.openCircuit?.fitId, ...cell.circuits.map((table) => table.fitId)]);
    for (const fit of provenance.fits.filter((candidate) => fitIds.has(candidate.id))) {
      const test = provenance.tests.find((candidate) => candidate.id === fit.testId);
      const file = provenance.files.find((candidate) => candidate.id === test?.fileId);
      const source = file === undefined ? '' : `, file ${JSON.stringify(file.name)} (SHA-256 ${file.sha256})`;
      const of = test === undefined ? '' : ` of test ${test.id}`;
      lines.push(
        `cell ${JSON.stringify(cell.serial)}: fit ${fit.id} by ${fit.algorithm} ${fit.algorithmVersion}${of}${source}`,
      );
    }
  }
  return lines;
}
