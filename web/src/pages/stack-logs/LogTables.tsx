import type { ChargeLogResult, OneLogResult } from '../../../../server/contract/chargeLogResult.ts';
import { fixed, percent, significant } from '../../format/number.ts';
import { missing } from '../../format/quantity.ts';
import { span } from '../../format/time.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { parameterWords } from '../../words/chargeLog.ts';
import { say } from '../../words/i18n.ts';
import { plainCode, reasonSentence } from '../../words/reasons.ts';

const milli = (value: number) => fixed(1000 * value, 1);

/** How far each cell's voltage is from the computed one, and where it stays on one side. */
export function ResidualTable({ comparison }: Pick<OneLogResult, 'comparison'>) {
  return (
    <>
      <h2>{say('stackLogs.measuredMinusComputedVoltage')}</h2>
      <Sheet
        label={say('stackLogs.residuals')}
        head={[
          say('stackLogs.cell'),
          say('stackLogs.biasMv'),
          say('stackLogs.rmsMv'),
          say('stackLogs.largestMv'),
          say('stackLogs.atTime'),
          say('stackLogs.staysOffByMv'),
          say('stackLogs.fromSoc'),
          say('stackLogs.toSoc'),
        ]}
        numeric={[1, 2, 3, 4, 5, 6, 7]}
        rows={comparison.cells.map(({ cell, biasV, rmsV, largestV, largestTimeS, deviation }) => [
          cell,
          milli(biasV),
          milli(rmsV),
          milli(largestV),
          span(largestTimeS),
          deviation === null ? missing : milli(deviation.meanV),
          deviation === null ? missing : fixed(100 * deviation.fromSoc, 0),
          deviation === null ? missing : fixed(100 * deviation.toSoc, 0),
        ])}
      />
    </>
  );
}

type Pair = OneLogResult['comparison']['chargeAh'];

/** Times, charge, energies and losses, measured beside computed. */
export function TimesAndEnergies({ comparison }: Pick<OneLogResult, 'comparison'>) {
  const { timesS, chargeAh, energyWh } = comparison;
  const row = (name: string, { measured, computed }: Pair, show: (value: number) => string) => [
    name,
    measured === null ? missing : show(measured),
    computed === null ? missing : show(computed),
    measured === null || computed === null || computed === 0
      ? missing
      : `${fixed(100 * (measured / computed - 1), 1)} %`,
  ];
  const watthours = (value: number) => `${significant(value, 4)} Wh`;
  const { losses } = energyWh;
  return (
    <>
      <h2>{say('stackLogs.timesAndEnergies')}</h2>
      <Sheet
        label={say('stackLogs.timesAndEnergies')}
        head={['', say('stackLogs.measured'), say('stackLogs.computed'), say('stackLogs.difference')]}
        numeric={[1, 2, 3]}
        rows={[
          row(say('stackLogs.toTheVoltageLimit'), timesS.toVoltageLimit, span),
          ...Object.entries(timesS.atSoc)
            .filter(([, pair]) => pair.measured !== null || pair.computed !== null)
            .map(([soc, pair]) =>
              row(say('stackLogs.toSocSoc', { soc: percent(Number(soc), 0) }), pair, span),
            ),
          row(say('stackLogs.toTheEnd'), timesS.end, span),
          row(say('stackLogs.charge'), chargeAh, (value) => `${significant(value, 4)} Ah`),
          row(say('stackLogs.energyIntoTheStack'), energyWh.intoStack, watthours),
          row(say('stackLogs.energyFromTheBus'), { measured: energyWh.fromBus, computed: null }, watthours),
          row(say('stackLogs.lostInTheCable'), losses.cable, watthours),
          row(say('stackLogs.lostInTheConverter'), losses.converter, watthours),
          row(say('stackLogs.lostInTheConnections'), losses.stackConnections, watthours),
          row(say('stackLogs.lostInTheCells'), losses.cells, watthours),
        ]}
      />
    </>
  );
}

/** The charge that went in between two known states, or why it is no capacity. */
export function CountedCapacity({ countedCapacity: counted }: Pick<OneLogResult, 'countedCapacity'>) {
  if (counted === undefined) return null;
  const { of, valueAh, low, high, reason } = counted;
  if (valueAh === null || low === null || high === null)
    return <p>{say('stackLogs.noCountedCapacity', { reason: reasonSentence(reason ?? 'undetermined') })}</p>;
  return (
    <p>
      {say(of === 'cell' ? 'stackLogs.countedCapacityOfTheCell' : 'stackLogs.countedCapacityOfTheStack', {
        value: significant(valueAh, 4),
        low: significant(low, 4),
        high: significant(high, 4),
      })}
    </p>
  );
}

/** What the fit found, each value with its 95 % interval or why there is none. */
export function FitTable({ fit }: { fit: NonNullable<ChargeLogResult['fit']> }) {
  const shown = fit.estimates.filter(
    ({ quantity }) => quantity !== 'edgeFraction' && quantity !== 'ocvKnotV',
  );
  const several = new Set(fit.after.map(({ log }) => log)).size > 1;
  return (
    <>
      <h2>{say('stackLogs.fittedParametersWith95Intervals')}</h2>
      <Sheet
        label={say('stackLogs.fittedParameters')}
        head={[
          say('stackLogs.parameter'),
          say('stackLogs.cell'),
          ...(several ? [say('stackLogs.log')] : []),
          say('stackLogs.inTheStudy'),
          say('stackLogs.fitted'),
          say('stackLogs.from'),
          say('stackLogs.to'),
          say('stackLogs.unit'),
          say('stackLogs.remark'),
        ]}
        numeric={several ? [3, 4, 5, 6] : [2, 3, 4, 5]}
        rows={shown.map(({ quantity, cell, log, before, value, low, high, reason }) => {
          const { name, unit, by } = parameterWords[quantity];
          const text = (one: number) => significant(by * one, 4);
          return [
            name,
            cell ?? say('stackLogs.all'),
            ...(several ? [log === null ? say('stackLogs.all') : String(log + 1)] : []),
            text(before),
            text(value),
            low === null ? missing : text(low),
            high === null ? missing : text(high),
            unit,
            reason === null ? (low === null ? plainCode('not-stated') : '') : reasonSentence(reason),
          ];
        })}
      />
      <p>
        {say('stackLogs.residualsAfterTheFitAfterTheir', {
          after: fit.after
            .map(({ cell, log, rmsV }) =>
              say('stackLogs.cellLogRmsVMVRms', {
                cell,
                log: several ? say('stackLogs.inLogLog', { log: log + 1 }) : '',
                rmsV: milli(rmsV),
              }),
            )
            .join(', '),
          misfit: significant(fit.misfit, 3),
        })}
      </p>
      <ResistancesTogether fit={fit} />
      <SingleChanges fit={fit} />
    </>
  );
}

/** R0 and branches as one resistance a time after a step of the current, which logs determine better than either. */
function ResistancesTogether({ fit }: { fit: NonNullable<ChargeLogResult['fit']> }) {
  const { resistances = [] } = fit;
  if (resistances.length === 0) return null;
  const text = (value: number | null) => (value === null ? missing : significant(100 * value, 4));
  return (
    <Sheet
      label={say('stackLogs.r0AndBranchesTogether')}
      head={[
        say('stackLogs.r0AndBranchesTogether'),
        say('stackLogs.afterAStepS'),
        say('stackLogs.ofTheStudy'),
        say('stackLogs.from'),
        say('stackLogs.to'),
        say('stackLogs.remark'),
      ]}
      numeric={[1, 2, 3, 4]}
      rows={resistances.map(({ cell, durationS, ratio, low, high, reason }) => [
        cell,
        String(durationS),
        text(ratio),
        text(low),
        text(high),
        reasonSentence(reason),
      ])}
    />
  );
}

function SingleChanges({ fit }: { fit: NonNullable<ChargeLogResult['fit']> }) {
  const best = fit.singleChanges.filter(({ explainedShare }) => explainedShare > 0.01).slice(0, 5);
  if (best.length === 0) return null;
  return (
    <Sheet
      label={say('stackLogs.whatOneChangeAloneExplains')}
      head={[
        say('stackLogs.oneChangeAlone'),
        say('stackLogs.cell'),
        say('stackLogs.value'),
        say('stackLogs.unit'),
        say('stackLogs.explains'),
      ]}
      numeric={[2, 4]}
      rows={best.map(({ quantity, cell, value, explainedShare }) => {
        const { name, unit, by } = parameterWords[quantity];
        return [
          name,
          cell ?? say('stackLogs.all'),
          significant(by * value, 4),
          unit,
          fixed(100 * explainedShare, 0),
        ];
      })}
    />
  );
}

/** Cable, connections and converter as the log shows them. */
export function SupplyTable({ supply }: Pick<OneLogResult, 'supply'>) {
  const rows = [
    [say('stackLogs.cableBothConductors'), supply.cableOhm, 'mΩ'],
    [say('stackLogs.connectionsOfTheStack'), supply.stackOhm, 'mΩ'],
    [say('stackLogs.outputResistanceOfTheConverter'), supply.converterOhm, 'mΩ'],
    [say('stackLogs.fixedLossOfTheConverter'), supply.fixedLossA, 'mA'],
  ] as const;
  return (
    <>
      <h2>{say('stackLogs.betweenSourceAndCellsWith95')}</h2>
      <Sheet
        label={say('stackLogs.betweenSourceAndCells')}
        head={['', say('stackLogs.value'), say('stackLogs.from'), say('stackLogs.to'), say('stackLogs.unit')]}
        numeric={[1, 2, 3]}
        rows={rows.map(([name, { value, low, high, reason }, unit]) =>
          value === null || low === null || high === null
            ? [name, reasonSentence(reason ?? 'not-logged'), missing, missing, unit]
            : [name, ...[value, low, high].map((one) => significant(1000 * one, 3)), unit],
        )}
      />
    </>
  );
}
