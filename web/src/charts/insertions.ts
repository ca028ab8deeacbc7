import { say } from '../words/i18n.ts';
import type { Picture, Series } from './picture.ts';

export interface InsertionsInput {
  readonly title: string;
  readonly label: string;
  readonly unit: string;
  /** Readings of each repeatedly measured cell in the unit shown. */
  readonly cells: readonly { readonly serial: string; readonly readings: readonly number[] }[];
}

/**
 * A row for each repeatedly measured cell with every reading of it and their mean: scatter within a row beside spread
 * between the rows. Cells stand down the side, where their serials have room on a narrow sheet too.
 */
export function insertionsPicture({ title, label, unit, cells }: InsertionsInput): Picture {
  const means: Series = {
    name: say('charts.meanOfTheCell'),
    points: cells.map(({ readings }, y) => ({
      x: readings.reduce((sum, value) => sum + value, 0) / readings.length,
      y,
    })),
    draw: 'points',
    ink: 1,
    shape: 'plus',
    width: 2.5,
  };
  const readings: Series = {
    name: say('charts.oneInsertion'),
    points: cells.flatMap(({ readings: own }, y) => own.map((x) => ({ x, y }))),
    draw: 'points',
    ink: 0,
    shape: 'circle',
  };
  return {
    title,
    x: { label, unit },
    y: {
      label: say('charts.cell'),
      unit: '',
      min: -0.6,
      max: cells.length - 0.4,
      ticks: cells.map(({ serial }, at) => ({ at, name: serial })),
    },
    series: [means, readings],
  };
}
