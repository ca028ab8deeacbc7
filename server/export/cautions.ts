import type { ParameterSet } from '../contract/parameterSet.ts';

type Caution = ParameterSet['cautions'][number];

const always: readonly Caution[] = [
  { code: 'watch-each-cell', text: 'Watch the voltage of each cell, never only that of the stack.' },
  {
    code: 'datasheet-outranks',
    text: "The maker's datasheet outranks every default and every computed figure.",
  },
  { code: 'not-unattended', text: 'Do not charge unattended without independent protection.' },
  {
    code: 'qualified-person-decides',
    text: 'Follow local codes and have a qualified person decide. Lithium cells can burn.',
  },
  {
    code: 'valid-where-measured',
    text: 'The parameters hold where they were measured: see the ranges of state of charge, temperature, current and time.',
  },
];

/** The cautions of a document. @param commonPractice limits that are not from the datasheet */
export function cautionsFor(commonPractice: readonly string[]): Caution[] {
  if (commonPractice.length === 0) return [...always];
  return [
    ...always,
    {
      code: 'default-limits-not-datasheet',
      text: `Not from the datasheet but common practice for the chemistry, with no source claimed: ${commonPractice.join(', ')}.`,
    },
  ];
}
