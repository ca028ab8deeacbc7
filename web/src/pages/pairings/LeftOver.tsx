import type { PairingResult, UnpairedCell } from '../../../../server/contract/pairingResult.ts';
import { quantity } from '../../format/quantity.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import type { UnitChoice } from '../../settings/units.ts';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { plainCode, reasonSentence } from '../../words/reasons.ts';

/** Every cell without a partner: why, and how near it came. */
export function LeftOver({ result }: { result: PairingResult }) {
  const [units] = useUnits();
  const unitOf = new Map(result.features.map((f) => [f.name, f.unit]));
  if (result.unpaired.length === 0) return null;
  return (
    <>
      <h2>{say('pairings.leftOver')}</h2>
      <Sheet
        label={say('pairings.cellsLeftOver')}
        head={[say('pairings.cell2'), say('pairings.why'), say('pairings.nearestMiss')]}
        rows={result.unpaired.map((u) => [u.cell, why(u, unitOf, units), nearest(u, unitOf, units)])}
      />
    </>
  );
}

function why(u: UnpairedCell, unitOf: ReadonlyMap<string, string>, units: UnitChoice): string {
  const parts = [reasonSentence(u.reason)];
  if (u.feature !== null && typeof u.value === 'number') {
    const unit = unitOf.get(u.feature) ?? '';
    const limit =
      u.limit === null ? '' : say('pairings.limitLimit', { limit: quantity(u.limit, unit, units) });
    parts.push(`${u.feature}: ${quantity(u.value, unit, units)}${limit}.`);
  } else if (u.feature !== null) parts.push(`${u.feature}.`);
  if (typeof u.value === 'string') parts.push(plainCode(u.value));
  return parts.join(' ');
}

function nearest(u: UnpairedCell, unitOf: ReadonlyMap<string, string>, units: UnitChoice): string {
  if (u.nearestMiss === null) return '–';
  const exceeded = u.nearestMiss.exceeded.map((e) => {
    if (e.feature === null) return say('pairings.keptApartByALock');
    const unit = unitOf.get(e.feature) ?? '';
    return say('pairings.featureDiffersByDifferenceLimitLimit', {
      feature: e.feature,
      difference: quantity(e.difference === null ? null : Math.abs(e.difference), unit, units, 3),
      limit: quantity(e.limit, unit, units, 3),
    });
  });
  return `${u.nearestMiss.cell}${exceeded.length === 0 ? '' : `: ${exceeded.join('; ')}`}`;
}
