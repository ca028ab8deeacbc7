import { say } from '../words/i18n.ts';
/** A number that somebody typed, nothing, or what is wrong with it. */
export interface ReadNumber {
  readonly value: number | null;
  readonly problem: string | null;
}

const nothing: ReadNumber = { value: null, problem: null };

/**
 * Reads a number with a decimal point or comma, a sign and an exponent. Anything around it, as a unit, is refused and not
 * cut off: `3000 mAh` in a field for Ah must not become 3000. `3,050` is refused, because it may mean 3.05 or 3050.
 */
export function readNumber(text: string): ReadNumber {
  const given = text.trim().replace(/^\u2212/, '-');
  if (given === '') return nothing;
  if (/^[-+]?[.,]?$/.test(given)) return nothing;
  if (/^[-+]?[1-9]\d{0,2},\d{3}$/.test(given))
    return {
      value: null,
      problem: say('general.writeGivenOrGiven2', {
        given: given.replace(',', '.'),
        given2: given.replace(',', ''),
      }),
    };
  if (/^[-+]?(\d+[.,]?\d*|[.,]\d+)(e[-+]?\d+)?$/i.test(given)) {
    const value = Number(given.replace(',', '.'));
    return Number.isFinite(value)
      ? { value, problem: null }
      : { value: null, problem: say('general.tooLarge') };
  }
  if (/^[-+]?(\d+[.,]?\d*|[.,]\d+)e[-+]?$/i.test(given)) return nothing;
  if (/^[-+]?\d[\d.,\s\u2019']*$/.test(given))
    return { value: null, problem: say('general.aNumberWithoutSeparatorsBetweenThousands') };
  if (/^[-+]?[\d.,]+\s*\p{L}/u.test(given))
    return { value: null, problem: say('general.aNumberAloneItsUnitStands') };
  return { value: null, problem: say('general.notANumber') };
}
