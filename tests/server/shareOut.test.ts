import { describe, expect, it } from 'vitest';
import { evaluateAgeingTable } from '../../server/assess/ageing/evaluateAgeingTable.ts';
import { drawStudy, drawsOf, studyCharge } from '../../server/assess/charging/studyCharge.ts';
import { pairCells } from '../../server/assess/pairing/pairCells.ts';
import { parseCriteria } from '../../server/assess/pairing/pairingChecks.ts';
import { answered, answerOf } from '../../server/threads/answered.ts';
import { giveThreadsBack, makeCrew, takeThreads } from '../../server/threads/crew.ts';
import { shareOut } from '../../server/threads/shareOut.ts';
import { evaluateAgeingInThreads } from '../../server/use-cases/ageing/evaluateAgeingInThreads.ts';
import { studyInThreads } from '../../server/use-cases/charging/studyInThreads.ts';
import { pairInThreads } from '../../server/use-cases/pairing/pairInThreads.ts';
import { logStudy } from '../support/stackLog.ts';

/** A study whose spread takes this many draws. */
function uncertainStudy(draws: number) {
  const { converter: _converter, ...study } = logStudy();
  return {
    ...study,
    cells: study.cells.map((cell) => ({
      ...cell,
      uncertainty: { capacityRelative: 0.02, r0Relative: 0.05 },
    })),
    questions: { ...study.questions, monteCarlo: { draws, seed: 7, level: 0.9 } },
  };
}

const allThreads = { worthMs: 0 } as const;

describe('work that is shared out among threads', () => {
  it('gives the draws of a study as one thread does, tells its progress, and gives the threads back', async () => {
    const study = uncertainStudy(130);
    const crew = makeCrew(2);
    const told: [number, number][] = [];
    const shared = await studyInThreads(study, {
      crew,
      ...allThreads,
      onProgress: (done, of) => told.push([done, of]),
    });
    expect(shared).toEqual(studyCharge(study));
    expect(shared.monteCarlo?.draws).toBe(130);
    expect(told[0]).toEqual([0, 130]);
    expect(told.at(-1)).toEqual([130, 130]);
    expect(takeThreads(crew, 2)).toBe(2);
  });

  it('ends with what the progress throws', async () => {
    const study = uncertainStudy(100_000);
    const pieces = Array.from({ length: 200 }, (_, i) => [i * 50, 50] as const);
    const size = ([, count]: readonly [number, number]) => count;
    const crew = makeCrew(2);
    const stops = shareOut(
      'charge-draws',
      study,
      pieces,
      {
        crew,
        ...allThreads,
        onProgress: (done) => {
          if (done > 0) throw new Error('stopped');
        },
      },
      size,
    );
    await expect(stops).rejects.toThrow('stopped');
    expect(takeThreads(crew, 2)).toBe(2);
  });

  it('ends with the refusal of a piece, which goes from thread to thread with its fields', async () => {
    // A converter without a source is refused.
    const impossible = { ...uncertainStudy(40), converter: logStudy().converter };
    const given = structuredClone(await answered(async () => drawStudy(impossible, [0, 5], () => false)));
    expect(() => answerOf(given)).toThrow(
      expect.objectContaining({
        code: 'cannot-study',
        places: [expect.objectContaining({ field: 'source' })],
      }),
    );
  });

  it('asks for no draws where nothing is uncertain', () => {
    expect(drawsOf(uncertainStudy(40))).toBe(40);
    expect(drawsOf({ ...uncertainStudy(40), cells: logStudy().cells })).toBe(0);
  });

  it('leaves threads that others have, and takes none where there are not two', () => {
    const crew = makeCrew(5);
    expect(takeThreads(crew, 3)).toBe(3);
    expect(takeThreads(crew, 3)).toBe(2);
    expect(takeThreads(crew, 3)).toBe(0);
    giveThreadsBack(crew, 3);
    expect(takeThreads(crew, 1)).toBe(0);
    expect(takeThreads(crew, 9)).toBe(3);
  });
});

describe('work in pieces', () => {
  /** Threads that are all taken: the pieces are done in this one. */
  const crew = makeCrew(1);

  it('gives the pairs and how often they are chosen again', async () => {
    const cells = Array.from({ length: 40 }, (_, i) => ({
      cell: `C${i}`,
      row: i,
      warningSign: null,
      values: [2.5 + 0.01 * Math.sin(7 * i)],
      standardUncertainties: [0.003],
    }));
    const criteria = parseCriteria({
      features: [{ name: 'capacity', quantity: 'capacity', tolerance: { kind: 'percent', value: 1 } }],
      bootstrapRuns: 90,
      randomPairings: 3,
    });
    const asked = { cells, criteria };
    const told: number[] = [];
    const inPieces = await pairInThreads(asked, { crew, onProgress: (done) => told.push(done) });
    expect(inPieces).toEqual(pairCells(asked.cells, asked.criteria));
    expect(inPieces.bootstrap?.runs).toBe(90);
    expect(told.at(-1)).toBe(90);
  });

  it('gives the ageing of a table, forecasts from its finished cells included', async () => {
    const inputs = Array.from({ length: 5 }, (_, c) => {
      const x = Float64Array.from({ length: c < 3 ? 60 : 30 }, (_x, i) => 10 * i);
      const capacityAh = x.map(
        (n, i) => 2.5 - (0.001 + 0.00004 * c) * n + 0.002 * Math.sin(12.9898 * i + 78.233 * c),
      );
      return { cell: `C${c}`, x, capacityAh, resistanceOhm: null };
    });
    const settings = { quantity: 'capacity', ratedCapacityAh: 2.5 } as const;
    const told: [number, number][] = [];
    const inPieces = await evaluateAgeingInThreads(
      { inputs, settings },
      { crew, onProgress: (done, of) => told.push([done, of]) },
    );
    expect(inPieces).toEqual(evaluateAgeingTable(inputs, settings));
    expect(inPieces.cells[4].limits.some(({ forecast }) => forecast.value !== null)).toBe(true);
    expect(told.at(-1)).toEqual([5, 5]);
  });
});
