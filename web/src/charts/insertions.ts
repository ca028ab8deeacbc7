import type { Picture, Series } from './picture.ts';

export interface InsertionsInput {
  readonly title: string;
  readonly label: string;
  readonly unit: string;
  /** Readings of each repeatedly measured cell in the unit shown. */
  readonly cells: readonly { readonly serial: string; readonly readings: readonly number[] }[];
}

/** Every reading of every repeatedly measured cell above its serial, with a dash at the mean: scatter beside spread. */
export function insertionsPicture({ title, label, unit, cells }: InsertionsInput): Picture {
  const readings: Series = {
    name: 'One insertion',
    points: cells.flatMap(({ readings: own }, i) => own.map((y) => ({ x: i, y }))),
    draw: 'points',
    ink: 0,
    shape: 'circle',
  };
  const means: Series = {
    name: 'Mean of the cell',
    points: cells.map(({ readings: own }, x) => ({
      x,
      y: own.reduce((sum, value) => sum + value, 0) / own.length,
    })),
    draw: 'points',
    ink: 1,
    shape: 'plus',
    width: 2,
  };
  return {
    title,
    x: {
      label: 'Cell',
      unit: '',
      min: -0.6,
      max: cells.length - 0.4,
      ticks: cells.map(({ serial }, at) => ({ at, name: serial })),
    },
    y: { label, unit },
    series: [readings, means],
  };
}
