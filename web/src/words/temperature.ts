import { residualSentence } from '../../../server/contract/residualChecks.ts';
import type { CellTypeTemperature, TemperatureLaw } from '../../../server/contract/temperature.ts';
import { significant } from '../format/number.ts';
import { say } from './i18n.ts';
import { said } from './sentences.ts';

/** What a reader must know of a law before using it, one sentence each. */
export function lawRemarks(law: TemperatureLaw): string[] {
  return [
    law.basis === 'different-cells' ? say('words.noCellWasMeasuredAtSeveral') : '',
    law.mixedCurrents === true && law.currentsA !== null
      ? say('words.pulsesOfLowestToHighestA', {
          lowest: significant(law.currentsA.lowest, 2),
          highest: significant(law.currentsA.highest, 2),
        })
      : '',
    law.activationStandardErrorJPerMol === null ? say('words.thereAreNoMoreReadingsThan') : '',
    law.temperatureErrorC === null
      ? ''
      : say('words.theErrorsAllowForACommon', { error: significant(law.temperatureErrorC, 2) }),
    law.fallsThroughout ? '' : say('words.theResistanceDoesNotFallAll'),
    law.residualChecks?.verdict === 'pattern' ? said(residualSentence(law.residualChecks)) : '',
    law.referenceExtrapolated ? say('words.theReferenceLiesOutsideTheMeasured') : '',
  ].filter((text) => text !== '');
}

/** That an assessment is out of date, and why; null where it is not. */
export function sinceSentence({
  added,
  gone,
  referenceChanged,
}: CellTypeTemperature['since']): string | null {
  const count = (n: number): string =>
    n === 1 ? say('words.oneResistance') : say('words.nResistances', { n });
  const parts = [
    ...(added > 0 ? [say('words.addedCameIn', { added: count(added) })] : []),
    ...(gone > 0
      ? [
          say('words.goneWordReplacedOrTakenBack', {
            gone: count(gone),
            word: gone === 1 ? say('words.was') : say('words.were'),
          }),
        ]
      : []),
    ...(referenceChanged ? [say('words.theReferenceTemperatureWasChanged')] : []),
  ];
  return parts.length === 0
    ? null
    : say('words.outOfDateSinceThisWas', { parts: parts.join(say('words.and')) });
}

const reasons: Readonly<Record<CellTypeTemperature['dependence']['without'][number]['reason'], string>> = {
  'one-temperature': say('words.measuredWithin5COnly'),
  'not-positive': say('words.withAValueThatIsNot'),
};

/** Which resistances have no law, counted by reason; null where all have one. */
export function withoutSentence(without: CellTypeTemperature['dependence']['without']): string | null {
  if (without.length === 0) return null;
  const counted = Object.entries(reasons).flatMap(([reason, words]) => {
    const n = without.filter((one) => one.reason === reason).length;
    return n === 0 ? [] : [`${n} ${words}`];
  });
  return say('words.resistancesWithoutALawCounted', { counted: counted.join(', ') });
}
