import { plainName } from './recognise/words.ts';
import { splitHeader } from './units.ts';

/** What a line above the header says, where it is a name and a value. */
export interface PreambleField {
  readonly name: string;
  readonly value: string;
  /** What it can be used as; null where it is only shown. */
  readonly use: 'cell' | 'temperature' | 'label' | 'started' | 'capacity' | null;
}

const mostFields = 60;

/** By the name in the words used here. A bare serial number may be the instrument's and is only offered. */
const uses: readonly (readonly [RegExp, PreambleField['use']])[] = [
  [
    /^(?:cell|battery|sample|dut)(?: (?:id|name|no|number|serial|s n|sn|serial number|code))?$|^(?:bar ?code|qr ?code)$/,
    'cell',
  ],
  [/^(?:serial|serial (?:no|number)|s n|sn)$/, 'cell'],
  [/^(?:(?:test|ambient|chamber|oven|set|cell) )?(?:temperature|temp)$/, 'temperature'],
  [
    /^(?:test name|name|schedule|schedule name|recipe|program|procedure|test plan|profile|prüfplan|programm)$/,
    'label',
  ],
  [/^(?:start|started|start time|start date|test start|date|date time|begin)$/, 'started'],
  [/^(?:(?:rated|nominal) )?capacity$/, 'capacity'],
];

/** The lines above a header that are a name and a value: `Channel: 7`, `Cell ID;C-1`, `Temperature = 25 °C`. */
export function preambleFields(preamble: readonly string[]): PreambleField[] {
  return preamble
    .flatMap((line): PreambleField[] => {
      const match = /^\s*["#%*]*\s*([^:=;,\t]{1,60}?)"?\s*(?:[:=]|[;,\t])\s*"?(.+?)"?[\s;,\t]*$/.exec(line);
      if (match === null) return [];
      const [, name, value] = match;
      const plain = plainName(splitHeader(name).name);
      return [
        { name, value: value.slice(0, 200), use: uses.find(([pattern]) => pattern.test(plain))?.[1] ?? null },
      ];
    })
    .slice(0, mostFields);
}

/** The cell that the lines above a header name as such; null where none or several do. */
export function cellInPreamble(fields: readonly PreambleField[]): string | null {
  const sure = fields.filter(({ name, use }) => use === 'cell' && !/^(?:serial|s ?n)/.test(plainName(name)));
  const named = new Set(sure.map(({ value }) => value.trim()));
  return named.size === 1 ? [...named][0] : null;
}
