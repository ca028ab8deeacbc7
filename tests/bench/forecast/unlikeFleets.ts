import { limitCrossing } from '../../../fitting/ageing/limitCrossing.ts';
import { normalSource, type RandomSource, seededRandom } from '../../../fitting/statistics/random.ts';

/** A cell of a fleet that no setting of the forecast was made for. Values relative to new; the limit is 0.8, or 2 where it rises. */
export interface UnlikeCell {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly life: number;
}

/** How the cells of one fleet are made. */
interface UnlikeFleet {
  readonly name: string;
  readonly quantity: 'capacity' | 'resistance';
  draw(random: RandomSource): {
    /** Loss over u = age / life, up to a factor. */
    readonly loss: (u: number) => number;
    readonly life: number;
    readonly rows: number;
    readonly noise: number;
    /** Recovery after rests: height, decay and distance in rows. */
    readonly rests?: { readonly height: number; readonly decay: number; readonly every: number };
  };
}

const between = (random: RandomSource, a: number, b: number): number => a + (b - a) * random();
const soft = (u: number, k: number, w: number): number => w * Math.log1p(Math.exp((u - k) / w));

/** Kinds of fleets as laboratories report them; every range is ours. */
export const UNLIKE_FLEETS: readonly UnlikeFleet[] = [
  {
    name: 'slow knee over a long life',
    quantity: 'capacity',
    draw: (random) => {
      const [k, r] = [between(random, 0.4, 0.8), between(random, 2, 6)];
      const loss = (u: number): number => u ** 0.7 + r * soft(u, k, 0.15);
      return { loss, life: between(random, 2000, 6000), rows: 200, noise: 0.002 };
    },
  },
  {
    name: 'line with recovery after rests',
    quantity: 'capacity',
    draw: (random) => {
      const z = between(random, 0.8, 1.3);
      const rests = {
        height: between(random, 0.01, 0.03),
        decay: between(random, 3, 12),
        every: between(random, 10, 30),
      };
      return { loss: (u) => u ** z, life: between(random, 80, 300), rows: 0, noise: 0.003, rests };
    },
  },
  {
    name: 'fade that slows down',
    quantity: 'capacity',
    draw: (random) => {
      const c = between(random, 0.8, 2.5);
      return { loss: (u) => -Math.expm1(-c * u), life: between(random, 400, 2000), rows: 100, noise: 0.003 };
    },
  },
  {
    name: 'noise of 1 %',
    quantity: 'capacity',
    draw: (random) => {
      const z = between(random, 0.6, 1.5);
      return { loss: (u) => u ** z, life: between(random, 300, 1500), rows: 150, noise: 0.01 };
    },
  },
  {
    name: 'eight check-ups',
    quantity: 'capacity',
    draw: (random) => {
      const z = between(random, 0.6, 1.5);
      return { loss: (u) => u ** z, life: between(random, 500, 3000), rows: -8, noise: 0.003 };
    },
  },
  {
    name: 'check-ups every 100 cycles, some with a knee',
    quantity: 'capacity',
    draw: (random) => {
      const knee = random() < 0.5;
      const [k, r] = [between(random, 0.5, 0.9), knee ? between(random, 2, 6) : 0];
      return {
        loss: (u) => u + r * soft(u, k, 0.04),
        life: between(random, 800, 2500),
        rows: -100,
        noise: 0.004,
      };
    },
  },
  {
    name: 'resistance that rises',
    quantity: 'resistance',
    draw: (random) => {
      const b = between(random, 0, 3);
      const loss = (u: number): number => u + (b > 1 ? Math.expm1(b * u) / Math.expm1(b) : 0);
      return { loss, life: between(random, 400, 2000), rows: 80, noise: 0.01 };
    },
  },
];

/** One cell of a fleet, measured past the end of its life; null where its record crosses no limit. */
export function unlikeCell(fleet: UnlikeFleet, seed: number, share: number): UnlikeCell | null {
  const random = seededRandom(6151 * seed + 92_821 * (1 + UNLIKE_FLEETS.indexOf(fleet)));
  const normal = normalSource(random);
  const { loss, life, rows, noise, rests } = fleet.draw(random);
  const spacing = spacingOf(rows, life, share);
  const x = Float64Array.from({ length: Math.ceil((1.4 * life) / spacing) }, (_, i) => (i + 1) * spacing);
  const way = fleet.quantity === 'capacity' ? -0.2 : 1;
  let since = 0;
  let lift = 0;
  const y = x.map((at) => {
    since++;
    if (rests !== undefined) {
      lift *= Math.exp(-1 / rests.decay);
      if (since > rests.every * (0.5 + random())) {
        lift += rests.height * (0.5 + random());
        since = 0;
      }
    }
    return 1 + (way * (loss(at / life) - loss(0))) / (loss(1) - loss(0)) + lift + noise * normal();
  });
  if (rests === undefined) return { x, y, life };
  const crossed = limitCrossing(x, y, 0.8, 'below').crossedAt;
  return crossed === null ? null : { x, y, life: crossed };
}

/** Cycles between rows: so many rows a life, so many rows up to the cut (−8), or one a hundred cycles (−100). */
function spacingOf(rows: number, life: number, share: number): number {
  if (rows === -8) return (share * life) / 8.5;
  if (rows === -100) return 100;
  return rows > 0 ? life / rows : 1;
}
