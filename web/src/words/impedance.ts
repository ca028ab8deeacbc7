import { say } from './i18n.ts';

const names: Readonly<Record<string, string>> = {
  seriesInductanceH: say('words.seriesInductance'),
  seriesResistanceOhm: say('words.seriesResistance'),
  diffusionCoefficient: say('words.diffusionCoefficient'),
  ResistanceOhm: say('words.resistance'),
  TimeConstantS: say('words.timeConstant'),
  Exponent: say('words.exponent'),
};

/** `arc1ResistanceOhm` → `arc 1 resistance`. */
export function impedanceParameterName(name: string): string {
  const arc = /^arc(\d)(.+)$/.exec(name);
  return arc === null
    ? (names[name] ?? name)
    : say('words.arcArcNames', { arc: arc[1], names: names[arc[2]] ?? arc[2] });
}
