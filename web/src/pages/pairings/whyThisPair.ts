import type { PairingResult } from '../../../../server/contract/pairingResult.ts';
import type { StoredPair } from '../../../../server/contract/pairings.ts';
import { differenceUnit } from '../../format/difference.ts';
import { chance, percent, significant, withUncertainty } from '../../format/number.ts';
import { say } from '../../words/i18n.ts';
import { featureWords } from '../../words/quantities.ts';

/**
 * Why these cells go together, in one sentence: how far they are apart, and for a pair what the best exchange would cost.
 */
export function whyThisPair(
  { detail, exchanged, cells }: Pick<StoredPair, 'detail' | 'exchanged' | 'cells'>,
  { totalCost }: Pick<PairingResult, 'totalCost'>,
): string {
  const serials = cells.map((c) => c.serial);
  const names = [serials.slice(0, -1).join(', '), ...serials.slice(-1)].join(say('pairings.and'));
  const apart = detail.differences.map((d) => {
    const { symbol, factor } = differenceUnit(d.unit);
    const size = Math.abs(d.difference * factor);
    const text =
      d.standardUncertainty === null
        ? significant(size, 2)
        : withUncertainty(size, d.standardUncertainty * factor);
    const share = Math.abs(d.inTolerances);
    return say('pairings.sizeInFeature', {
      size: symbol === '' ? text : `${text} ${symbol}`,
      feature: featureWords(d.feature),
      share: share < 1 ? chance(share) : percent(share, 0),
    });
  });
  if (cells.length > 2) {
    const differences = apart.length === 0 ? say('groups.nothingCompared') : apart.join(say('pairings.and'));
    return exchanged
      ? say('groups.putTogetherByHand', { names, differences })
      : say('groups.whyTheyDiffer', { names, differences });
  }
  const differences = apart.length === 0 ? say('pairings.nothingCompared') : apart.join(say('pairings.and'));
  return exchanged
    ? say('pairings.putTogetherByHand', { names, differences })
    : say('pairings.whyTheyDiffer', { names, differences, exchange: exchangeOf(detail, totalCost) });
}

function exchangeOf(detail: StoredPair['detail'], totalCost: number): string {
  if (detail.locked) return say('pairings.demandedByALock');
  const next = detail.nextBestExchange;
  if (next === null) return say('pairings.noExchangeIsAllowed');
  // Without a cost to compare with there is no share; the details give the figure itself.
  if (!(totalCost > 0)) return '';
  const cost = say('pairings.exchangeWouldCost', {
    withPair: next.withPair.join(say('pairings.and')),
    share: percent(next.costIncrease / totalCost, next.costIncrease / totalCost < 0.1 ? 1 : 0),
  });
  return detail.indistinguishable === true ? cost + say('pairings.whichTheMeasurementCannotTell') : cost;
}
