import { z } from 'zod';

/** The UCUM codes that occur, case-sensitive form. */
export const ucumUnits = [
  '1',
  '%',
  'V',
  'mV',
  'A',
  'A.h',
  'W',
  'W.h',
  'Ohm',
  'F',
  's',
  'h',
  'd',
  'Cel',
  'K',
  'g',
  'kg',
  'mm',
  'Hz',
  'J/K',
  'W/K',
  'V/K',
  'V/d',
  'mV/d',
  'V/(A.s)',
  'A.h/{cycle}',
  'Ohm/{cycle}',
  '1/{cycle}',
  '{cycle}',
] as const;

/** A unit that is none of UCUM's stands in braces, which UCUM reads as a remark on the number 1. */
export const ucumUnit = z.union([z.enum(ucumUnits), z.string().regex(/^\{[!-z|~]+\}$/)]);
