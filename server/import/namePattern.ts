import type { TestKind } from '../contract/tests.ts';

/** What a file name states. */
export interface NameParts {
  readonly cell: string | null;
  readonly testKind: TestKind | null;
  readonly temperatureC: number | null;
  /** State of charge at the first row, 0…1. */
  readonly startSoc: number | null;
  readonly label: string | null;
}

const placeholders: Readonly<Record<string, string>> = {
  cell: '(?<cell>[A-Za-z0-9][A-Za-z0-9.#-]*?)',
  kind: '(?<kind>[\\p{L}\\p{M}]+)',
  temperature: '(?<temperature>[-mn]?\\d+(?:[.p]\\d+)?)',
  soc: '(?<soc>(?:100|[0-9]{1,2})(?:[.p]\\d+)?)',
  label: '(?<label>.+?)',
};

const placeholderRule = 'use {cell}, {kind}, {temperature}, {soc}, {label} once each, and * for any text';
const mostWildcards = 3;

const kindWords: Readonly<Record<string, TestKind>> = {
  pulse: 'pulse',
  pulses: 'pulse',
  capacity: 'capacity',
  cap: 'capacity',
  rest: 'rest',
  ocv: 'rest',
  selfdischarge: 'rest',
  impedance: 'impedance',
  eis: 'impedance',
  cycling: 'cycling',
  cycle: 'cycling',
  cycles: 'cycling',
  life: 'cycling',
  puls: 'pulse',
  pulstest: 'pulse',
  kapazität: 'capacity',
  kapazitaet: 'capacity',
  kap: 'capacity',
  ruhe: 'rest',
  selbstentladung: 'rest',
  impedanz: 'impedance',
  zyklen: 'cycling',
  zyklierung: 'cycling',
};

/**
 * Compiles a pattern such as `{cell}_{kind}_{temperature}C.csv`: placeholders `{cell}`, `{kind}`, `{temperature}`,
 * `{soc}` (start SOC in percent) and `{label}`, `*` for any text, everything else as it stands (case does not matter).
 * A minus in a temperature may be written `-`, `m` or `n`, its point `.` or `p`.
 *
 * @returns a function that gives the parts of a file name, or null where the name does not fit
 * @throws RangeError naming a placeholder that is unknown or used twice, a brace that stands alone, or what is missing
 */
export function compileNamePattern(pattern: string): (fileName: string) => NameParts | null {
  const used = new Set<string>();
  const bare = pattern.replace(/\{[^{}]*\}/g, '');
  if (/[{}]/.test(bare)) throw new RangeError(`a brace stands alone; ${placeholderRule}`);
  const merged = pattern.replace(/\*+/g, '*');
  // Each one multiplies the ways in which a name that does not fit can fail to.
  if (merged.split('*').length - 1 > mostWildcards)
    throw new RangeError(`there are more than ${mostWildcards} *; write out more of the name`);
  const source = merged.replace(/\{([^}]*)\}|\*|[.+?^${}()|[\]\\]/g, (found, name: string | undefined) => {
    if (found === '*') return '.*?';
    if (name === undefined) return `\\${found}`;
    const part = placeholders[name];
    if (part === undefined || used.has(name)) {
      throw new RangeError(
        `{${name}} ${part === undefined ? 'is not a placeholder' : 'is there twice'}; ${placeholderRule}`,
      );
    }
    used.add(name);
    return part;
  });
  if (used.size === 0)
    throw new RangeError(`it has no placeholder, so it would tell nothing; ${placeholderRule}`);
  const expression = new RegExp(`^${source}$`, 'iu');
  return (fileName) => {
    const groups = expression.exec(fileName)?.groups;
    if (groups === undefined) return null;
    const kind = groups.kind?.normalize('NFC').toLowerCase();
    if (kind !== undefined && kindWords[kind] === undefined) return null;
    return {
      cell: groups.cell ?? null,
      testKind: kind === undefined ? null : kindWords[kind],
      temperatureC:
        groups.temperature === undefined
          ? null
          : Number(groups.temperature.toLowerCase().replace(/^[mn]/, '-').replace('p', '.')),
      startSoc: groups.soc === undefined ? null : Math.min(1, Number(groups.soc.replace('p', '.')) / 100),
      label: groups.label ?? null,
    };
  };
}
