import { say } from '../words/i18n.ts';
import type { Picture } from './picture.ts';

export interface IndividualsInput {
  readonly title: string;
  readonly label: string;
  readonly unit: string;
  /** In the order of measuring, with what stands at each point. */
  readonly values: readonly { readonly name: string; readonly value: number; readonly outside: boolean }[];
  readonly centre: number;
  readonly lower: number;
  readonly upper: number;
}

/** Individuals chart: values in the order of measuring, with the centre line and the limits from the moving range. */
export function individualsPicture(input: IndividualsInput): Picture {
  const points = input.values.map((v, i) => ({ x: i + 1, y: v.value, name: v.name, outside: v.outside }));
  const bare = ({ x, y, name }: (typeof points)[number]) => ({ x, y, name });
  return {
    title: input.title,
    x: { label: say('charts.orderOfMeasuring'), unit: '' },
    y: { label: input.label, unit: input.unit },
    series: [
      {
        name: say('charts.inOrder'),
        points: points.map(bare),
        draw: 'line',
        ink: 7,
        shape: 'none',
        width: 1,
        quiet: true,
      },
      {
        name: say('charts.withinTheLimits'),
        points: points.filter((p) => !p.outside).map(bare),
        draw: 'points',
        ink: 0,
        shape: 'circle',
      },
      {
        name: say('charts.outsideTheLimits'),
        points: points.filter((p) => p.outside).map(bare),
        draw: 'points',
        ink: 1,
        shape: 'triangle',
      },
    ],
    lines: [
      { axis: 'y', at: input.centre, name: say('charts.mean2'), ink: 7, dash: 'dashed' },
      { axis: 'y', at: input.lower, name: say('charts.lowerLimit2'), ink: 3, dash: 'dotted' },
      { axis: 'y', at: input.upper, name: say('charts.upperLimit2'), ink: 3, dash: 'dotted' },
    ],
  };
}
