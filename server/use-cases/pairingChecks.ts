import { type PairingCriteria, pairingCriteria } from '../contract/pairing.ts';
import { type ErrorPlace, fieldError, Refusal } from '../errors.ts';
import type { CellToPair } from './pairingLot.ts';

/**
 * A criteria document from outside, checked and with its defaults filled in.
 *
 * @throws Refusal naming every field that is wrong.
 */
export function parseCriteria(document: unknown): PairingCriteria {
  const parsed = pairingCriteria.safeParse(document);
  if (parsed.success) return parsed.data;
  const places: ErrorPlace[] = parsed.error.issues.map((issue) => ({
    field: issue.path.join('.') || 'criteria',
    row: null,
    value: valueAt(document, issue.path),
    reason: issue.message,
    expected: null,
  }));
  throw new Refusal(
    'invalid-request',
    `The pairing criteria cannot be used: ${places.map((p) => `${p.field}: ${p.reason}`).join('; ')}`,
    places,
  );
}

function valueAt(document: unknown, path: readonly PropertyKey[]): string | null {
  let here = document;
  for (const step of path) {
    if (typeof here !== 'object' || here === null) return null;
    here = (here as Record<PropertyKey, unknown>)[step];
  }
  return here === undefined ? null : JSON.stringify(here).slice(0, 120);
}

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
  const byName = new Map(cells.map((cell) => [cell.cell, cell]));
  const partner = new Map<string, string>();
  const places: ErrorPlace[] = [];
  const wrong = (field: string, value: unknown, reason: string, expected: string) =>
    places.push(fieldError(`locks.${field}`, value, reason, expected));
  const lists = { together: together.flat(), apart: apart.flat(), heldBack };
  for (const [field, names] of Object.entries(lists))
    for (const name of names)
      if (!byName.has(name)) wrong(field, name, 'no such cell was given', 'the serial of a cell in this run');
  if (together.length > 0 && criteria.cellsPerStack > 2)
    wrong('together', together.length, 'locked pairs apply to stacks of two only', 'cellsPerStack of 2');
  if (criteria.objective !== 'least-total' && criteria.cellsPerStack > 2)
    places.push(
      fieldError(
        'objective',
        criteria.objective,
        'larger stacks are built for the least total only',
        'least-total',
      ),
    );
  for (const [a, b] of together) {
    const pair = `${a} + ${b}`;
    if (a === b) wrong('together', pair, 'a cell cannot be paired with itself', 'two different cells');
    for (const name of [a, b]) {
      const other = name === a ? b : a;
      const before = partner.get(name);
      if (before !== undefined && before !== other)
        wrong('together', pair, `${name} is already locked to ${before}`, 'each cell in one locked pair');
      partner.set(name, other);
      if (heldBack.includes(name))
        wrong('together', pair, `${name} is held back as well`, 'one of the two locks');
      const sign = byName.get(name)?.warningSign;
      if (sign != null)
        wrong('together', pair, `${name} has a warning sign: ${sign}`, 'only cells without a warning sign');
      const missing = byName.get(name)?.values.indexOf(null) ?? -1;
      if (missing !== -1)
        wrong(
          'together',
          pair,
          `${name} has no ${criteria.features[missing].name}`,
          'cells with every value',
        );
    }
    if (apart.some(([c, d]) => (c === a && d === b) || (c === b && d === a)))
      wrong('together', pair, 'the same two cells are locked apart', 'one of the two locks');
  }
  for (const [a, b] of apart)
    if (a === b)
      wrong('apart', `${a} + ${b}`, 'a cell cannot be kept apart from itself', 'two different cells');
  return places;
}
