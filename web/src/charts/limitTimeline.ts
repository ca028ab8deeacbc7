import { say } from '../words/i18n.ts';
import type { Picture } from './picture.ts';
import { timeUnit } from './recordPictures.ts';

export interface BoundStretch {
  readonly limit: string;
  readonly fromS: number;
  readonly toS: number;
}

/** Which limit bound when: one lane per limit, in the order in which the limits first bound. */
export function limitTimelinePicture(title: string, stretches: readonly BoundStretch[]): Picture {
  const lanes = [...new Set([...stretches].sort((a, b) => a.fromS - b.fromS).map((s) => s.limit))];
  const end = Math.max(0, ...stretches.map((s) => s.toS));
  const { unit, divisor } = timeUnit(end);
  const height = lanes.length;
  return {
    title,
    x: { label: say('charts.time'), unit, min: 0, max: end / divisor },
    y: {
      label: say('charts.whatLimited'),
      unit: '',
      min: -0.5,
      max: Math.max(0.5, height - 0.5),
      ticks: lanes.map((name, i) => ({ at: height - 1 - i, name })),
    },
    series: [],
    areas: stretches.map((s) => {
      const lane = lanes.indexOf(s.limit);
      const at = height - 1 - lane;
      return {
        from: s.fromS / divisor,
        to: s.toS / divisor,
        low: at - 0.35,
        high: at + 0.35,
        name: s.limit,
        ink: lane,
        strength: 0.75,
      };
    }),
  };
}
