import type { ChargeLogResult, OneLogResult } from '../../../../server/contract/chargeLogResult.ts';
import { fixed, percent, significant } from '../../format/number.ts';
import { missing } from '../../format/quantity.ts';
import { span } from '../../format/time.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { parameterWords, supplyReasonWords } from '../../words/chargeLog.ts';
import { plainCode } from '../../words/reasons.ts';

const milli = (value: number) => fixed(1000 * value, 1);

/** How far each cell's voltage is from the computed one, and where it stays on one side. */
export function ResidualTable({ comparison }: Pick<OneLogResult, 'comparison'>) {
  return (
    <>
      <h2>Measured minus computed voltage</h2>
      <Sheet
        label="Residuals"
        head={[
          'Cell',
          'Bias, mV',
          'rms, mV',
          'Largest, mV',
          'at',
          'Stays off by, mV',
          'from, % SOC',
          'to, % SOC',
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
      <h2>Times and energies</h2>
      <Sheet
        label="Times and energies"
        head={['', 'Measured', 'Computed', 'Difference']}
        numeric={[1, 2, 3]}
        rows={[
          row('To the voltage limit', timesS.toVoltageLimit, span),
          ...Object.entries(timesS.atSoc)
            .filter(([, pair]) => pair.measured !== null || pair.computed !== null)
            .map(([soc, pair]) => row(`To ${percent(Number(soc), 0)} SOC`, pair, span)),
          row('To the end', timesS.end, span),
          row('Charge', chargeAh, (value) => `${significant(value, 4)} Ah`),
          row('Energy into the stack', energyWh.intoStack, watthours),
          row('Energy from the bus', { measured: energyWh.fromBus, computed: null }, watthours),
          row('Lost in the cable', losses.cable, watthours),
          row('Lost in the converter', losses.converter, watthours),
          row('Lost in the connections', losses.stackConnections, watthours),
          row('Lost in the cells', losses.cells, watthours),
        ]}
      />
    </>
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
      <h2>Fitted parameters, with 95 % intervals</h2>
      <Sheet
        label="Fitted parameters"
        head={[
          'Parameter',
          'Cell',
          ...(several ? ['Log'] : []),
          'In the study',
          'Fitted',
          'From',
          'To',
          'Unit',
        ]}
        numeric={several ? [3, 4, 5, 6] : [2, 3, 4, 5]}
        rows={shown.map(({ quantity, cell, log, before, value, low, high, reason }) => {
          const { name, unit, by } = parameterWords[quantity];
          const text = (one: number) => significant(by * one, 4);
          return [
            name,
            cell ?? 'all',
            ...(several ? [log === null ? 'all' : String(log + 1)] : []),
            text(before),
            text(value),
            low === null ? missing : text(low),
            high === null ? plainCode(reason ?? 'not-stated') : text(high),
            unit,
          ];
        })}
      />
      <p>
        Residuals after the fit:{' '}
        {fit.after
          .map(({ cell, log, rmsV }) => `${cell}${several ? ` in log ${log + 1}` : ''} ${milli(rmsV)} mV rms`)
          .join(', ')}
        ; their variance is {significant(fit.misfit, 3)} times that of noise and resolution.
      </p>
      <SingleChanges fit={fit} />
    </>
  );
}

function SingleChanges({ fit }: { fit: NonNullable<ChargeLogResult['fit']> }) {
  const best = fit.singleChanges.filter(({ explainedShare }) => explainedShare > 0.01).slice(0, 5);
  if (best.length === 0) return null;
  return (
    <Sheet
      label="What one change alone explains"
      head={['One change alone', 'Cell', 'Value', 'Unit', 'Explains, %']}
      numeric={[2, 4]}
      rows={best.map(({ quantity, cell, value, explainedShare }) => {
        const { name, unit, by } = parameterWords[quantity];
        return [name, cell ?? 'all', significant(by * value, 4), unit, fixed(100 * explainedShare, 0)];
      })}
    />
  );
}

/** Cable, connections and converter as the log shows them. */
export function SupplyTable({ supply }: Pick<OneLogResult, 'supply'>) {
  const rows = [
    ['Cable, both conductors', supply.cableOhm, 'mΩ'],
    ['Connections of the stack', supply.stackOhm, 'mΩ'],
    ['Output resistance of the converter', supply.converterOhm, 'mΩ'],
    ['Fixed loss of the converter', supply.fixedLossA, 'mA'],
  ] as const;
  return (
    <>
      <h2>Between source and cells, with 95 % intervals</h2>
      <Sheet
        label="Between source and cells"
        head={['', 'Value', 'From', 'To', 'Unit']}
        numeric={[1, 2, 3]}
        rows={rows.map(([name, { value, low, high, reason }, unit]) =>
          value === null || low === null || high === null
            ? [name, supplyReasonWords[reason ?? 'not-logged'], missing, missing, unit]
            : [name, ...[value, low, high].map((one) => significant(1000 * one, 3)), unit],
        )}
      />
    </>
  );
}
