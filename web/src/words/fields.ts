import { say } from './i18n.ts';

/** Fields whose name does not read as words. */
const names: Readonly<Record<string, string>> = {
  'Idempotency-Key': say('words.keyOfTheRequest'),
  'Content-Type': say('words.kindOfTheContent'),
  body: say('words.request'),
  id: 'Number',
  cellTypeId: say('words.cellType'),
  lotId: say('words.lot'),
  stackId: say('words.stack'),
  pairId: say('words.pair'),
};

/** Units at the end of a field's name, as they are written after a comma. */
const units: readonly (readonly [string, string])[] = [
  ['PerKelvin', '1/K'],
  ['JPerK', 'J/K'],
  ['WPerK', 'W/K'],
  ['Ohm', 'Ω'],
  ['Ah', 'Ah'],
  ['Hz', 'Hz'],
  ['V', 'V'],
  ['A', 'A'],
  ['C', '°C'],
  ['W', 'W'],
  ['S', 's'],
];

/**
 * The name of a field that programs see, in words: `chargeVoltageLimitV` → `Charge voltage limit, V`,
 * `features.0.tolerance` → `Features 1, tolerance`. A name that is a column of a file stays as it is.
 */
export function fieldWords(field: string): string {
  const known = names[field];
  if (known !== undefined) return known;
  if (!/^[a-z][A-Za-z0-9]*(\.[A-Za-z0-9]+)*$/.test(field)) return field;
  const parts: string[] = [];
  for (const part of field.split('.')) {
    const last = parts.length - 1;
    if (/^\d+$/.test(part) && last >= 0) parts[last] = `${parts[last]} ${Number(part) + 1}`;
    else parts.push(partWords(part));
  }
  const text = parts.join(', ');
  return text.charAt(0).toUpperCase() + text.slice(1);
}

function partWords(part: string): string {
  const unit = units.find(([code]) => new RegExp(`[a-z0-9]${code}$`).test(part));
  const bare = unit === undefined ? part : part.slice(0, -unit[0].length);
  const words = bare
    .replace(/([a-z0-9])([A-Z])/g, '$1 $2')
    .toLowerCase()
    .replaceAll('soc', 'SOC')
    .replaceAll('ocv', 'OCV');
  return unit === undefined ? words : `${words}, ${unit[1]}`;
}
