import type { ReactNode } from 'react';
import type { ProposedPair } from '../../../../server/contract/pairingProposal.ts';
import type { PairingResult } from '../../../../server/contract/pairingResult.ts';
import { differenceWithUnit } from '../../format/difference.ts';
import { percent, significant } from '../../format/number.ts';
import { quantity, quantityWithUncertainty } from '../../format/quantity.ts';
import { Fact, Facts } from '../../parts/Fact.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { featureWords } from '../../words/quantities.ts';
import { joined } from './namesOf.ts';

/** The values behind one pair and what it will do in the device. */
export function PairDetails({
  pair,
  result,
  children,
}: {
  pair: ProposedPair;
  result: PairingResult;
  children?: ReactNode;
}) {
  const [units] = useUnits();
  const c = pair.consequences;
  const { cells } = pair;
  const group = cells.length > 2;
  const names = joined(cells);
  const heldBy = (cell: string, feature: string) =>
    result.cells.find((x) => x.cell === cell)?.values.find((v) => v.feature === feature);
  const next = pair.nextBestExchange;
  return (
    <section
      aria-label={
        group ? say('groups.groupOf', { names }) : say('pairings.pairAWithB', { a: cells[0], b: cells[1] })
      }
      className="pair-details"
    >
      <h3>{names}</h3>
      <Sheet
        label={say('pairings.differences')}
        head={[
          say('pairings.feature'),
          ...cells,
          group ? say('groups.largestDifference') : say('pairings.difference'),
          say('pairings.inTolerances'),
          say('pairings.cost'),
          say('pairings.withinTolerance'),
        ]}
        numeric={Array.from({ length: cells.length + 4 }, (_, i) => i + 1)}
        rows={pair.differences.map((d) => [
          featureWords(d.feature),
          ...cells.map((cell) => {
            const held = heldBy(cell, d.feature);
            return quantityWithUncertainty(held?.value, held?.standardUncertainty, d.unit, units);
          }),
          differenceWithUnit(d.difference, d.standardUncertainty, d.unit),
          significant(Math.abs(d.inTolerances), 3),
          significant(d.cost, 3),
          d.probabilityWithinTolerance === null ? '–' : percent(d.probabilityWithinTolerance, 0),
        ])}
      />
      <Facts>
        <Fact name={say('pairings.usableCapacityOfTheStack')}>
          {quantity(c.usableCapacityAh, 'Ah', units)}
        </Fact>
        <Fact name={say('pairings.lostAgainstTheMean')}>
          {differenceWithUnit(c.capacityLossAh, null, 'Ah')}
          {c.capacityLossPercent !== null && <> ({significant(c.capacityLossPercent, 2)} %)</>}
        </Fact>
        <Fact name={say('pairings.limitsTheCharge')}>
          {c.limitsCharge ?? say('pairings.notDistinguishable')}
        </Fact>
        <Fact name={say('pairings.limitsTheDischarge')}>
          {c.limitsDischarge ?? say('pairings.notDistinguishable')}
        </Fact>
        <Fact name={say('pairings.voltageDifferenceAtThePlannedCurrent')}>
          {c.voltageDifferenceV === null ? '–' : `${significant(c.voltageDifferenceV * 1000, 3)} mV`}
        </Fact>
        <Fact name={say('pairings.bypassPerCycle')}>
          {differenceWithUnit(c.bypassChargePerCycleAh, null, 'Ah')}
        </Fact>
        <Fact name={say('pairings.socDriftPerMonth')}>
          {c.socDriftPerMonth === null ? '–' : percent(c.socDriftPerMonth, 2)}
        </Fact>
        {c.capacitySpreadAfterCyclesAh !== null && (
          <Fact name={say('pairings.capacitySpreadAfterThePlannedCycles')}>
            {differenceWithUnit(c.capacitySpreadAfterCyclesAh, null, 'Ah')}
          </Fact>
        )}
      </Facts>
      {next !== null && (
        <p>
          {say('pairings.nextBestExchangeInsteadAndInstead2', {
            instead: next.instead[0].join(say('pairings.with')),
            instead2: next.instead[1].join(say('pairings.with')),
            costIncrease: significant(next.costIncrease, 3),
          })}{' '}
          {pair.indistinguishable === true && say('pairings.theMeasurementCannotTellTheTwo')}
        </p>
      )}
      {pair.bootstrapFrequency !== null && (
        <p>
          {say('pairings.chosenInOfThePairingsUnder', {
            bootstrapFrequency: percent(pair.bootstrapFrequency, 0),
          })}
        </p>
      )}
      {children}
    </section>
  );
}
