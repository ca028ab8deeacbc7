import type { LotLine } from '../../../server/contract/lotLine.ts';
import { say } from '../words/i18n.ts';
import type { Series } from './picture.ts';

/**
 * The line between two quantities of a lot with its 95 % band and that of one further cell, in the units shown; nothing
 * where there is no line.
 */
export function lineSeries(line: LotLine, xFactor: number, yFactor: number): Series[] {
  if (line.band.length === 0) return [];
  const edge = (of: 'y' | 'low' | 'high' | 'cellLow' | 'cellHigh') =>
    line.band.map((point) => ({ x: point.x * xFactor, y: point[of] * yFactor }));
  const plain = { draw: 'line', ink: 3, shape: 'none' } as const;
  return [
    { ...plain, name: say('charts.lineUpper95'), points: edge('high'), width: 0, quiet: true },
    {
      ...plain,
      name: say('charts.lineLower95'),
      points: edge('low'),
      width: 0,
      quiet: true,
      fillTo: 0,
      fillStrength: 0.2,
    },
    {
      ...plain,
      name: say('charts.oneFurtherCellUpper'),
      points: edge('cellHigh'),
      width: 0.75,
      dash: 'dotted',
      quiet: true,
    },
    { ...plain, name: say('charts.oneFurtherCell'), points: edge('cellLow'), width: 0.75, dash: 'dotted' },
    { ...plain, name: say('charts.lineWithErrorsInBoth'), points: edge('y'), width: 2, dash: 'dashed' },
  ];
}
