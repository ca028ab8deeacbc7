/**
 * What must be minded, as codes with one sentence each: the one place of these words. Answers hold the codes; pages,
 * commands and exported files take the sentences from here.
 */
export const cautionSentences = {
  'watch-each-cell': 'Watch the voltage of each cell, never only that of the stack.',
  'datasheet-outranks': 'The maker’s datasheet outranks every default and every computed figure.',
  'not-unattended': 'Do not charge or test unattended without independent protection.',
  'qualified-person-decides':
    'Follow local codes and have a qualified person decide. Lithium cells can burn.',
  'valid-where-measured':
    'The parameters hold where they were measured: see the ranges of state of charge, temperature, current and time.',
  'stack-only-overcharges':
    'With only the stack voltage watched, a cell is overcharged here: the stack looks right while a cell is not.',
  'parameters-extrapolated':
    'Part of the charge lies outside the measured range of the parameters; there they were held at its edge.',
  'default-limits-not-datasheet':
    'Limits are general defaults of the chemistry, common practice with no source claimed, not from the datasheet: enter the maker’s before using any figure.',
  'do-not-charge': 'Do not charge under these conditions.',
  'lithium-plating-not-modelled':
    'Lithium plating is not modelled: a rate that keeps every limit here can still harm a cold cell.',
} as const satisfies Record<string, string>;
export type CautionCode = keyof typeof cautionSentences;

/** Said with every pair, rate, resistance or limit, whatever the result. */
export const generalCautions = [
  'watch-each-cell',
  'datasheet-outranks',
  'not-unattended',
  'qualified-person-decides',
] as const satisfies readonly CautionCode[];

/** What a result adds to the general cautions. */
export function furtherCautions(codes: readonly CautionCode[]): CautionCode[] {
  const general: readonly CautionCode[] = generalCautions;
  return codes.filter((code) => !general.includes(code));
}
