import { createRequire } from 'node:module';

interface UcumUtilities {
  validateUnitString(code: string): { status: 'valid' | 'invalid' | 'error' };
}

const library = createRequire(import.meta.url)('@lhncbc/ucum-lhc') as {
  UcumLhcUtils: { getInstance(): UcumUtilities };
};

/** Whether a unit code is right in the case-sensitive form of the Unified Code for Units of Measure. */
export function ucumCodeIsValid(code: string): boolean {
  return library.UcumLhcUtils.getInstance().validateUnitString(code).status === 'valid';
}
