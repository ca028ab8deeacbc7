import { describe, expect, it } from 'vitest';
import type { LotAgeing } from '../../server/contract/ageingAssessment.ts';
import { namedCells, overlayPicture } from '../../web/src/pages/ageing/trackPictures.ts';
import { defaultUnits } from '../../web/src/settings/units.ts';

type Named = Parameters<typeof namedCells>[0]['cells'][number];

const earliest = (value: number | null): Named['earliest'] => ({
  ...{ name: null, low: null, high: null, reason: null, extrapolation: true },
  value,
});

/** As much of the cells as decides on names: 28 of them, the fourth first at a limit, the ninth unlike the others. */
const cells = Array.from({ length: 28 }, (_, i) => ({
  serial: `C${i + 1}`,
  earliest: earliest(i === 3 ? 400 : 900 + i),
  flags: i === 8 ? (['ages-faster-than-lot'] as const) : [],
})) as unknown as LotAgeing['cells'];

describe('the names of the cells in the chart of their ageing', () => {
  it('are all there for a few', () => {
    expect(namedCells({ cells: cells.slice(0, 12) }, null)).toHaveLength(12);
  });

  it('are of many those that are looked at, first at a limit or unlike the lot', () => {
    expect(namedCells({ cells }, null)).toEqual(['C4', 'C9']);
    expect(namedCells({ cells }, 'C20')).toEqual(['C20', 'C4', 'C9']);
    expect(namedCells({ cells }, 'C9')).toEqual(['C9', 'C4']);
  });

  it('never stand twice, and never more than find room', () => {
    const flagged = cells.map((cell) => ({ ...cell, flags: ['ages-slower-than-lot' as const] }));
    const named = namedCells({ cells: flagged }, 'C4');
    expect(named).toHaveLength(12);
    expect(new Set(named).size).toBe(12);
  });
});

describe('the lines of that chart', () => {
  const ageing = {
    quantity: 'capacity',
    axis: 'cycle',
    cells: [{ ...cells[0], unit: 'Ah', x: [0, 100, 200, 300], value: [1, 2.5, 0.1, 2.4], leftOut: [0, 2] }],
  } as unknown as LotAgeing;

  it('leave out the readings that are no part of a cell’s ageing, and are relative to the first that is', () => {
    const lines = (relative: boolean) =>
      overlayPicture(ageing, relative, defaultUnits)?.series[0].points.map(({ x, y }) => [x, y]);
    expect(lines(true)).toEqual([
      [100, 100],
      [300, expect.closeTo(96, 9)],
    ]);
    expect(lines(false)?.map(([x]) => x)).toEqual([100, 300]);
  });
});
