import { type PairingCriteria, pairingCriteria } from '../../contract/pairingCriteria.ts';
import { type ErrorPlace, fieldError, Refusal } from '../../errors.ts';
import { sentenceOf, wrongFields } from '../../wrongFields.ts';
import type { CellToPair } from './cellToPair.ts';

/**
 * A criteria document from outside, checked and with its defaults filled in.
 *
 * @throws Refusal naming every field that is wrong.
 */
export function parseCriteria(document: unknown): PairingCriteria {
  const parsed = pairingCriteria.safeParse(document);
  if (parsed.success) return parsed.data;
  const places = wrongFields(parsed.error, document, 'criteria', pairingCriteria);
  throw new Refusal('invalid-request', `The pairing criteria cannot be used: ${sentenceOf(places)}`, places);
}

/** Cells that are grouped into stacks of more than two at most: the cost of every two of them is kept. */
export const mostCellsToGroup = 2000;

/**
 * Checks cells and locks against each other before anything is computed.
 *
 * @throws Refusal naming duplicate serials, too few cells, and every lock that contradicts another or the cells.
 */
export function checkCells(cells: readonly CellToPair[], criteria: PairingCriteria): void {
  const places = [...duplicates(cells), ...lockProblems(cells, criteria)];
  if (cells.length < 2)
    places.push(fieldError('cells', cells.length, 'fewer than two cells were given', 'two cells or more'));
  if (criteria.cellsPerStack > cells.length && cells.length >= 2)
    places.push(
      fieldError(
        'cellsPerStack',
        criteria.cellsPerStack,
        `only ${cells.length} cells were given`,
        'as many cells',
      ),
    );
  if (criteria.cellsPerStack > 2 && cells.length > mostCellsToGroup)
    places.push(
      fieldError(
        'cells',
        cells.length,
        'too many for stacks of more than two',
        `at most ${mostCellsToGroup}, or stacks of two`,
      ),
    );
  if (criteria.missingValues === 'refuse') places.push(...missingValues(cells, criteria));
  if (places.length === 0) return;
  throw new Refusal(
    'cannot-pair',
    `The cells cannot be paired: ${places[0].field}: ${places[0].reason}.`,
    places,
  );
}

function duplicates(cells: readonly CellToPair[]): ErrorPlace[] {
  const seen = new Set<string>();
  return cells.flatMap(({ cell, row }) => {
    if (!seen.has(cell)) {
      seen.add(cell);
      return [];
    }
    return [{ ...fieldError('serial', cell, 'this cell is given more than once', 'every cell once'), row }];
  });
}

function missingValues(cells: readonly CellToPair[], criteria: PairingCriteria): ErrorPlace[] {
  return cells.flatMap(({ cell, row, values }) =>
    criteria.features.flatMap((feature, f) =>
      values[f] === null
        ? [{ ...fieldError(feature.name, null, `cell ${cell} has no value`, 'a value for every cell'), row }]
        : [],
    ),
  );
}

function lockProblems(cells: readonly CellToPair[], criteria: PairingCriteria): ErrorPlace[] {
  const { together, apart, heldBack } = criteria.locks;
  const known = new Set(cells.map(({ cell }) => cell));
  const places: ErrorPlace[] = [];
  const lists = { together: together.flat(), apart: apart.flat(), heldBack };
  for (const [field, names] of Object.entries(lists))
    for (const name of names)
      if (!known.has(name))
        places.push(lockError(field, name, 'no such cell was given', 'the serial of a cell in this run'));
  if (criteria.cellsPerStack > 2) places.push(...onlyForPairs(criteria));
  for (const [a, b] of apart)
    if (a === b)
      places.push(
        lockError('apart', `${a} + ${b}`, 'a cell cannot be kept apart from itself', 'two different cells'),
      );
  return [...places, ...togetherProblems(cells, criteria)];
}

function lockError(field: string, value: unknown, reason: string, expected: string): ErrorPlace {
  return fieldError(`locks.${field}`, value, reason, expected);
}

function onlyForPairs({ locks, objective }: PairingCriteria): ErrorPlace[] {
  const places: ErrorPlace[] = [];
  if (locks.together.length > 0)
    places.push(
      lockError(
        'together',
        locks.together.length,
        'locked pairs apply to stacks of two only',
        'cellsPerStack of 2',
      ),
    );
  if (objective !== 'least-total')
    places.push(
      fieldError('objective', objective, 'larger stacks are built for the least total only', 'least-total'),
    );
  return places;
}

/** Locked pairs against each other, the other locks, and what is known of their cells. */
function togetherProblems(cells: readonly CellToPair[], criteria: PairingCriteria): ErrorPlace[] {
  const { together, apart, heldBack } = criteria.locks;
  const byName = new Map(cells.map((cell) => [cell.cell, cell]));
  const partner = new Map<string, string>();
  return together.flatMap(([a, b]) => {
    const reasons: [reason: string, expected: string][] = [];
    if (a === b) reasons.push(['a cell cannot be paired with itself', 'two different cells']);
    if (apart.some((pair) => pair.includes(a) && pair.includes(b) && a !== b))
      reasons.push(['the same two cells are locked apart', 'one of the two locks']);
    for (const name of [a, b]) {
      const other = name === a ? b : a;
      const before = partner.get(name) ?? other;
      if (before !== other)
        reasons.push([`${name} is already locked to ${before}`, 'each cell in one locked pair']);
      partner.set(name, other);
      if (heldBack.includes(name)) reasons.push([`${name} is held back as well`, 'one of the two locks']);
      const cell = byName.get(name);
      if (cell && cell.warningSign !== null)
        reasons.push([
          `${name} has a warning sign: ${cell.warningSign}`,
          'only cells without a warning sign',
        ]);
      const missing = cell?.values.indexOf(null) ?? -1;
      if (missing !== -1)
        reasons.push([`${name} has no ${criteria.features[missing].name}`, 'cells with every value']);
    }
    return reasons.map(([reason, expected]) => lockError('together', `${a} + ${b}`, reason, expected));
  });
}
