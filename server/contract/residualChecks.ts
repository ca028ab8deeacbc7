import { z } from 'zod';

const numberOrNull = z.number().nullable();

/**
 * Whether the residuals of a fit, in the order of what it is fitted over, look like noise: runs of one sign (Wald and Wolfowitz 1940),
 * Durbin and Watson's statistic (1950) and normality (Anderson and Darling, after Stephens 1986).
 */
export const residualChecks = z.object({
  residuals: z.int(),
  runs: z.object({
    found: z.int(),
    expected: numberOrNull,
    /** Probability of so few runs or fewer for random signs. */
    pFew: numberOrNull,
  }),
  durbinWatson: z.object({
    /** Between 0 and 4; about 2 where neighbours are independent. */
    statistic: numberOrNull,
    /** Probability of a statistic this low where they are. */
    pLow: numberOrNull,
  }),
  normality: z.object({
    /** A² adjusted for the number of residuals. */
    statistic: numberOrNull,
    /** Probability of residuals at least this far from normal where they are normal. */
    pValue: numberOrNull,
  }),
  /**
   * pattern: neighbours err alike, so the curve misses something or the readings drift, and intervals that take the readings as
   * independent are too narrow. not-normal: a few readings lie far off. too-few: fewer than 8 residuals.
   */
  verdict: z.enum(['no-pattern', 'pattern', 'not-normal', 'too-few']),
});

export type ResidualChecks = z.infer<typeof residualChecks>;

/** The verdict in words, for page and terminal alike. */
export function residualSentence({ verdict, runs, durbinWatson, residuals }: ResidualChecks): string {
  switch (verdict) {
    case 'too-few':
      return `${residuals} residuals are too few to say whether the curve misses something.`;
    case 'no-pattern':
      return 'The residuals show no pattern.';
    case 'not-normal':
      return 'The residuals show no pattern in their order, but a few readings lie farther off than noise explains.';
    case 'pattern': {
      const counted =
        runs.expected === null
          ? ''
          : `${runs.found} runs of one sign where ${runs.expected.toFixed(0)} are usual`;
      const watson =
        durbinWatson.statistic === null ? '' : `Durbin–Watson ${durbinWatson.statistic.toFixed(2)}`;
      const grounds = [counted, watson].filter((part) => part !== '').join(', ');
      return `Neighbouring residuals err alike (${grounds}): the curve misses something, or the readings drift.`;
    }
  }
}
