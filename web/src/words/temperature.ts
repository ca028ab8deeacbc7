import { residualSentence } from '../../../server/contract/residualChecks.ts';
import type { CellTypeTemperature, TemperatureLaw } from '../../../server/contract/temperature.ts';
import { significant } from '../format/number.ts';

/** What a reader must know of a law before using it, one sentence each. */
export function lawRemarks(law: TemperatureLaw): string[] {
  return [
    law.basis === 'different-cells'
      ? 'No cell was measured at several temperatures: differences between cells count as temperature.'
      : '',
    law.mixedCurrents === true && law.currentsA !== null
      ? `Pulses of ${significant(law.currentsA.lowest, 2)} to ${significant(law.currentsA.highest, 2)} A are mixed: a dependence on the current counts as one on temperature.`
      : '',
    law.activationStandardErrorJPerMol === null
      ? 'There are no more readings than parameters, so the uncertainty is unknown and nothing is corrected by this law.'
      : '',
    law.fallsThroughout ? '' : 'The resistance does not fall all the way: the law describes it badly.',
    law.residualChecks?.verdict === 'pattern' ? residualSentence(law.residualChecks) : '',
    law.referenceExtrapolated
      ? 'The reference lies outside the measured range: the value there is extrapolated.'
      : '',
  ].filter((text) => text !== '');
}

/** That an assessment is out of date, and why; null where it is not. */
export function sinceSentence({
  added,
  gone,
  referenceChanged,
}: CellTypeTemperature['since']): string | null {
  const count = (n: number): string => (n === 1 ? 'one resistance' : `${n} resistances`);
  const parts = [
    ...(added > 0 ? [`${count(added)} came in`] : []),
    ...(gone > 0 ? [`${count(gone)} ${gone === 1 ? 'was' : 'were'} replaced or taken back`] : []),
    ...(referenceChanged ? ['the reference temperature was changed'] : []),
  ];
  return parts.length === 0
    ? null
    : `Out of date: since this was assessed ${parts.join(', and ')}. Pairing still uses what is shown here; assess it again.`;
}

const reasons: Readonly<Record<CellTypeTemperature['dependence']['without'][number]['reason'], string>> = {
  'one-temperature': 'measured within 5 °C only',
  'not-positive': 'with a value that is not above zero',
};

/** Which resistances have no law, counted by reason; null where all have one. */
export function withoutSentence(without: CellTypeTemperature['dependence']['without']): string | null {
  if (without.length === 0) return null;
  const counted = Object.entries(reasons).flatMap(([reason, words]) => {
    const n = without.filter((one) => one.reason === reason).length;
    return n === 0 ? [] : [`${n} ${words}`];
  });
  return `Resistances without a law: ${counted.join(', ')}.`;
}
