import type { Consistency } from '../../../fitting/impedance/index.ts';

/** The verdict of the Kramers–Kronig check in a sentence. */
export function consistencySentence(consistency: Consistency): string {
  const { verdict, limit, largestResidual, largestAtHz, departingHz, frequencyHz } = consistency;
  if (verdict === 'too-few-points' || largestResidual === null || largestAtHz === null)
    return 'The points are too few to say whether the spectrum obeys the Kramers–Kronig relations.';
  const largest = `${percent(largestResidual)} of |Z|, at ${short(largestAtHz)} Hz`;
  if (verdict === 'consistent')
    return `The spectrum obeys the Kramers–Kronig relations within ${percent(limit)}; the largest residual is ${largest}.`;
  const beyond = `${departingHz.length} of ${frequencyHz.length} points depart by more than ${percent(limit)}`;
  if (verdict === 'consistent-but-for-points')
    return `The spectrum obeys the Kramers–Kronig relations but for a few points: ${beyond}, at most ${largest}.`;
  const low = short(Math.min(...departingHz));
  const high = short(Math.max(...departingHz));
  return (
    `The spectrum does not obey the Kramers–Kronig relations: ${beyond}, between ${low} and ${high} Hz, at most ${largest}. ` +
    'The cell was not at rest or changed during the sweep, or the excitation was too large: do not trust values of these frequencies.'
  );
}

function percent(fraction: number): string {
  return `${short(100 * fraction)} %`;
}

function short(value: number): string {
  return String(Number(value.toPrecision(2)));
}
