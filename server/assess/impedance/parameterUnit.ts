/** The UCUM code of a circuit parameter's unit. @throws Error for a name that no circuit has */
export function parameterUnit(name: string): string {
  if (name === 'seriesInductanceH') return 'H';
  if (name === 'diffusionCoefficient') return 'Ohm.s-0.5';
  if (name.endsWith('Ohm')) return 'Ohm';
  if (name.endsWith('TimeConstantS')) return 's';
  if (name.endsWith('Exponent')) return '1';
  throw new Error(`No circuit has a parameter ${name}.`);
}
