import type { UcumUnit } from '../contract/parameterSet.ts';
import { ucumUnits } from '../contract/ucum.ts';

/** Other spellings of units in the database, with their UCUM codes. */
const spellings: Readonly<Record<string, UcumUnit>> = {
  Ah: 'A.h',
  Wh: 'W.h',
  Ω: 'Ohm',
  ohm: 'Ohm',
  '°C': 'Cel',
  degC: 'Cel',
  '': '1',
  'Ah/cycle': 'A.h/{cycle}',
  'ohm/cycle': 'Ohm/{cycle}',
  'Ohm/cycle': 'Ohm/{cycle}',
  'A.h/cycle': 'A.h/{cycle}',
  '1/cycle': '1/{cycle}',
  cycle: '{cycle}',
};

const known = new Set<string>(ucumUnits);

/** The UCUM code of a stored unit; a unit that is none of UCUM's becomes a remark in braces. */
export function ucumCode(unit: string): UcumUnit {
  const spelled = spellings[unit];
  if (spelled !== undefined) return spelled;
  if (known.has(unit)) return unit as UcumUnit;
  const remark = unit
    .normalize('NFKD')
    .replace(/[^!-z|~]/g, '')
    .slice(0, 30);
  return `{${remark === '' ? 'unit' : remark}}`;
}
