const names: Readonly<Record<string, string>> = {
  seriesInductanceH: 'series inductance',
  seriesResistanceOhm: 'series resistance',
  diffusionCoefficient: 'diffusion coefficient',
  ResistanceOhm: 'resistance',
  TimeConstantS: 'time constant',
  Exponent: 'exponent',
};

/** `arc1ResistanceOhm` → `arc 1 resistance`. */
export function impedanceParameterName(name: string): string {
  const arc = /^arc(\d)(.+)$/.exec(name);
  return arc === null ? (names[name] ?? name) : `arc ${arc[1]} ${names[arc[2]] ?? arc[2]}`;
}
