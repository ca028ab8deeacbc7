import { z } from 'zod';
import { reasonSentences } from './reasons.ts';

const numberOrNull = z.number().nullable();

/** Cycling of a lithium iron phosphate cell, over throughput: Wang et al. 2011. */
const wangRequest = z.strictObject({
  law: z.literal('wang-2011'),
  /** The law has a factor for these rates alone, in C. */
  cRate: z.literal([0.5, 2, 6, 10]),
  temperatureC: z.number().min(-30).max(70),
  /** Share of the capacity that each cycle uses. */
  depthOfDischarge: z.number().gt(0).max(1).default(1),
});

/** Storage and cycling of an NMC cell, over time and throughput: Schmalstieg et al. 2014. */
const schmalstiegRequest = z.strictObject({
  law: z.literal('schmalstieg-2014'),
  temperatureC: z.number().min(-30).max(70),
  /** Below 3.2 V the law has no meaning. */
  storageVoltageV: z.number().min(3.2).max(4.3),
  cyclingVoltageV: z.number().min(3).max(4.3),
  depthOfDischarge: z.number().gt(0).max(1).default(1),
  /** How many cycles a day, to turn cycles into days or days into cycles. */
  cyclesPerDay: z.number().gt(0).max(500),
});

/** A published law to be drawn beside the measured series, with the conditions it is taken at. */
export const publishedLawRequest = z.discriminatedUnion('law', [wangRequest, schmalstiegRequest]);

export const publishedLawName = z.enum(['wang-2011', 'schmalstieg-2014']);

/** A published law beside the measured series of one cell. It is a comparison with another cell, not a forecast of this one. */
export const publishedLaw = z.object({
  law: publishedLawName,
  source: z.string(),
  /** Which cells and conditions the law was fitted to. */
  scope: z.string(),
  /** True where the conditions asked for lie outside that scope. */
  outsideScope: z.boolean(),
  conditions: z.record(z.string(), z.number()),
  /** The law as published, from the cell's own first value on. */
  curve: z.object({ x: z.array(z.number()), y: z.array(z.number()) }).nullable(),
  /**
   * How many times as much as the law says this cell has aged, fitted to its points, with a 95 % interval; `pattern` where even
   * so scaled the law does not follow them.
   */
  factor: z
    .object({
      value: z.number(),
      low: numberOrNull,
      high: numberOrNull,
      follows: z.enum(['follows', 'pattern', 'too-few']),
    })
    .nullable(),
  /** Why there is no curve: the law does not cover this quantity, or the axis cannot be turned into its own. */
  reason: z.enum(['quantity-not-covered', 'axis-not-covered', 'too-few-points']).nullable(),
});

export type PublishedLawRequest = z.infer<typeof publishedLawRequest>;
export type PublishedLaw = z.infer<typeof publishedLaw>;

/** What a published law says beside a cell, in words for page and terminal alike. */
export function publishedLawSentence({ source, scope, outsideScope, factor, reason }: PublishedLaw): string {
  if (reason !== null) return `${source}: not drawn. ${reasonSentences[reason]}`;
  const ends =
    factor === null || factor.low === null || factor.high === null
      ? ''
      : ` (95 %: ${factor.low.toPrecision(2)} to ${factor.high.toPrecision(2)})`;
  return [
    `${source} (${scope}).`,
    outsideScope ? 'The conditions asked for lie outside those of the paper.' : '',
    factor === null
      ? ''
      : `This cell has aged ${factor.value.toPrecision(2)} times as much as the law says${ends}.`,
    factor?.follows === 'pattern' ? 'Even so scaled, the law does not follow its points.' : '',
    'A published law of another cell is a comparison, not a forecast.',
  ]
    .filter((sentence) => sentence !== '')
    .join(' ');
}
