/** The inks of one colour scheme. */
export interface Palette {
  readonly series: readonly string[];
  readonly ink: string;
  readonly faint: string;
  readonly rule: string;
  readonly paper: string;
  /** Low to high of the ramp of heat maps, as [red, green, blue]. */
  readonly ramp: readonly (readonly [number, number, number])[];
}

/**
 * The eight colours of Okabe and Ito (Color Universal Design, 2008), which stay apart under every common kind of
 * colour blindness; black is the page's own ink and yellow is darkened so that it can be seen on paper. The ramp runs
 * from dark blue to pale yellow with evenly rising lightness, so that it also reads in grey.
 */
const ramp = [
  [0, 34, 78],
  [53, 69, 108],
  [102, 105, 112],
  [148, 142, 119],
  [200, 184, 102],
  [253, 231, 55],
] as const;

export const lightPalette: Palette = {
  series: ['#0072b2', '#d55e00', '#009e73', '#cc79a7', '#b08500', '#56b4e9', '#8a5a00', '#333a47'],
  ink: '#1d2636',
  faint: '#5b6472',
  rule: '#cfdbe6',
  paper: '#fdfcf7',
  ramp,
};

export const darkPalette: Palette = {
  series: ['#56b4e9', '#f0863a', '#2fc79b', '#e3a0c6', '#f0e442', '#8fb8ff', '#c9a25a', '#d7dbe3'],
  ink: '#e7e4d8',
  faint: '#a9afb9',
  rule: '#34404f',
  paper: '#161b22',
  ramp,
};

/** A colour of the palette by index, round and round, with an opacity. */
export function seriesColour(palette: Palette, index: number, opacity = 1): string {
  const colour = palette.series[index % palette.series.length];
  return opacity >= 1 ? colour : `${colour}${hex(opacity * 255)}`;
}

/** The colour of the ramp at 0…1; values outside are taken to the ends. */
export function rampColour(palette: Palette, fraction: number): string {
  const last = palette.ramp.length - 1;
  const at = Math.min(1, Math.max(0, fraction)) * last;
  const below = Math.min(last - 1, Math.floor(at));
  const part = at - below;
  const mixed = [0, 1, 2].map(
    (i) => palette.ramp[below][i] + part * (palette.ramp[below + 1][i] - palette.ramp[below][i]),
  );
  return `#${mixed.map(hex).join('')}`;
}

/** Dark or light ink, whichever can be read on the ramp at 0…1. */
export function inkOnRamp(fraction: number): string {
  return fraction > 0.46 ? '#000000' : '#ffffff';
}

function hex(value: number): string {
  return Math.round(value).toString(16).padStart(2, '0');
}
