/**
 * What a chart shows, apart from how it is drawn. Functions that turn data into pictures are pure and know nothing of
 * the drawing library; the table view, the CSV and the canvas are all made from the same picture.
 */
export interface Picture {
  /** What the chart says, in a few words; also its accessible name and the name of downloaded files. */
  readonly title: string;
  readonly x: Axis;
  readonly y: Axis;
  /** A second vertical axis on the right. */
  readonly y2?: Axis;
  /** For a heat map: what the fields carry. */
  readonly field?: Axis;
  readonly series: readonly Series[];
  /** Stretches and fields behind the data. */
  readonly areas?: readonly Area[];
  /** Limits, thresholds and marked instants. */
  readonly lines?: readonly Line[];
  /** One unit across is as long on the screen as one unit up. */
  readonly equalScales?: boolean;
  /** The names of the lines stand at their ends in place of a legend: for few lines of short names. */
  readonly namesAtEnds?: boolean;
}

export interface Axis {
  readonly label: string;
  readonly unit: string;
  readonly scale?: 'linear' | 'logarithmic';
  readonly min?: number;
  readonly max?: number;
  /** Counts: no ticks between whole numbers. */
  readonly whole?: boolean;
  /** Names at given values instead of numbers. */
  readonly ticks?: readonly { readonly at: number; readonly name: string }[];
}

export interface Point {
  readonly x: number;
  /** null breaks the line. */
  readonly y: number | null;
  /** What the point is: a serial, a pair. */
  readonly name?: string;
}

/** Shapes stand beside colours, so that neither has to be seen alone. */
export type Shape = 'circle' | 'triangle' | 'square' | 'diamond' | 'cross' | 'plus' | 'none';
export type Dash = 'solid' | 'dashed' | 'dotted' | 'long';

export interface Series {
  readonly name: string;
  readonly points: readonly Point[];
  readonly draw: 'line' | 'points' | 'line-and-points' | 'stepped' | 'filled-steps';
  /** Index into the palette. */
  readonly ink: number;
  readonly shape?: Shape;
  readonly dash?: Dash;
  readonly axis?: 'y' | 'y2';
  readonly width?: number;
  /** Fills down to the series with this index (bands of a fan chart). */
  readonly fillTo?: number;
  /** 0…1, how strong the fill is. */
  readonly fillStrength?: number;
  /** Drawn over the others; else the first lies on top. */
  readonly over?: boolean;
  /** Not in the legend (guides, joins). */
  readonly quiet?: boolean;
  /** One of many that the others stand out from: drawn in the pale ink of the page. */
  readonly faint?: boolean;
}

export interface Area {
  readonly from: number;
  readonly to: number;
  /** Only between these heights; the whole height where absent. */
  readonly low?: number;
  readonly high?: number;
  readonly name?: string;
  /** Stands at the top of the area where it has room for it. */
  readonly title?: string;
  /** Stands there where the title has no room. */
  readonly mark?: string;
  readonly ink: number;
  /** 0…1; a heat map uses the whole range. */
  readonly strength: number;
  /** For a heat map: the ramp instead of the palette. */
  readonly ramp?: boolean;
  /** For a heat map: the value shown in the field and in the table; null for a hole. */
  readonly value?: number | null;
  /** For a heat map: where the value belongs, which is not the middle of the field on an uneven grid. */
  readonly at?: { readonly x: number; readonly y: number };
}

export interface Line {
  readonly axis: 'x' | 'y' | 'y2';
  readonly at: number;
  readonly name: string;
  readonly ink: number;
  readonly dash?: Dash;
}

/** `Time, s`: how an axis is named everywhere. */
export function axisName(axis: Axis): string {
  return axis.unit === '' ? axis.label : `${axis.label}, ${axis.unit}`;
}
