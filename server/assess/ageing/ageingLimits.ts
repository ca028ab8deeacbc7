import type { AgeingQuantityName } from '../../contract/ageingTrack.ts';

/** An end of life as asked for: a share of the rated or of the first measured value, or a figure. */
export interface EndOfLife {
  readonly quantity: AgeingQuantityName;
  readonly basis: 'of-rated' | 'of-first-measured' | 'absolute';
  /** Share (0.8, 2) or the figure in Ah or Ω. */
  readonly value: number;
}

/** Both usual criteria: 80 % of the capacity and twice the resistance (common practice; Schmalstieg et al. 2014 use them together). */
export function usualLimits(ratedCapacityAh: number | null): EndOfLife[] {
  return [
    ...(ratedCapacityAh === null ? [] : [{ quantity: 'capacity', basis: 'of-rated', value: 0.8 } as const]),
    { quantity: 'capacity', basis: 'of-first-measured', value: 0.8 },
    { quantity: 'resistance', basis: 'of-first-measured', value: 2 },
  ];
}

/** Name of a limit, stable and readable: `capacity-80-percent-of-rated`, `capacity-0.88-Ah`. */
export function limitName(limit: EndOfLife): string {
  const { quantity, basis, value } = limit;
  if (basis === 'absolute') return `${quantity}-${value}-${quantity === 'capacity' ? 'Ah' : 'ohm'}`;
  return `${quantity}-${Number((100 * value).toPrecision(6))}-percent-${basis}`;
}

/**
 * Reads an end of life as people write it: `80%` (of rated where the rated capacity is known, else of the first
 * measured), `80%-of-rated`, `80%-of-first`, `0.88Ah`, `880mAh`, `200%` (above 100 %: resistance), `0.05ohm`, `50mohm`.
 *
 * @throws RangeError saying what would be right
 */
export function parseEndOfLife(text: string, ratedCapacityAh: number | null): EndOfLife {
  const clean = text.trim().toLowerCase().replace(/\s+/g, '');
  const share = /^([0-9.]+)%(?:-?of-?(rated|first)(?:-measured)?)?$/.exec(clean);
  if (share !== null && Number(share[1]) > 0) {
    const value = Number(share[1]) / 100;
    const quantity = value > 1 ? 'resistance' : 'capacity';
    const rated =
      share[2] === 'rated' || (share[2] === undefined && quantity === 'capacity' && ratedCapacityAh !== null);
    if (rated && quantity === 'resistance')
      throw new RangeError(`${text}: there is no rated resistance; write ${share[1]}%-of-first`);
    return { quantity, basis: rated ? 'of-rated' : 'of-first-measured', value };
  }
  const figure = /^([0-9.]+(?:e-?[0-9]+)?)(m?ah|m?(?:ohm|ω))$/.exec(clean);
  if (figure !== null && Number(figure[1]) > 0) {
    const milli = figure[2].startsWith('m');
    return {
      quantity: figure[2].endsWith('ah') ? 'capacity' : 'resistance',
      basis: 'absolute',
      value: milli ? Number(figure[1]) / 1000 : Number(figure[1]),
    };
  }
  throw new RangeError(
    `"${text}" is not an end of life; write for example 80%, 80%-of-rated, 80%-of-first, 0.88Ah, 200% or 0.05ohm`,
  );
}

/** The threshold of a limit for one cell, in Ah or Ω; null where what it refers to is not known. */
export function thresholdOf(
  limit: EndOfLife,
  ratedCapacityAh: number | null,
  firstMeasured: number | null,
): number | null {
  if (limit.basis === 'absolute') return limit.value;
  const basis = limit.basis === 'of-rated' ? ratedCapacityAh : firstMeasured;
  return basis === null ? null : limit.value * basis;
}
