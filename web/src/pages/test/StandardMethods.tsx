import type { EvaluatedPulseRecord } from '../../../../server/contract/pulseRecord.ts';
import { percent, significant, withUncertainty } from '../../format/number.ts';
import { Said } from '../../parts/Said.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { displayUnit } from '../../settings/units.ts';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { Gap } from './PulseTable.tsx';

/** Two-level DC resistance and pulse power, each with its method, and why they differ from R(t). */
export function StandardMethods({ result }: { result: EvaluatedPulseRecord }) {
  const [units] = useUnits();
  const { symbol, factor } = displayUnit('Ohm', units);
  const ohm = (value: number | null, u: number | null, reason: string | null) =>
    value === null ? (
      <Gap reason={reason} />
    ) : u === null ? (
      significant(value * factor)
    ) : (
      withUncertainty(value * factor, u * factor)
    );
  const { twoLevelResistances: two, pulsePowers: powers } = result;
  if (two.length === 0 && powers.length === 0) return null;
  return (
    <>
      <h2>{say('test.byStandardMethods')}</h2>
      {two.length > 0 && (
        <>
          <p>{say('test.rdcComparesTheVoltageJustBefore')}</p>
          <Sheet
            label={say('test.twoLevelDcResistance')}
            head={['SOC', say('test.currentsA'), `Rdc, ${symbol}`, say('test.method')]}
            numeric={[0, 1, 2]}
            rows={two.map((r) => [
              r.socBefore === null ? '–' : percent(r.socBefore),
              `${significant(r.firstCurrentA, 3)} → ${significant(r.secondCurrentA, 3)}`,
              ohm(r.valueOhm, r.standardUncertaintyOhm, r.reason),
              <Said key="method" text={r.method} />,
            ])}
          />
        </>
      )}
      {powers.length > 0 && (
        <>
          <p>{say('test.pulsePowerExtrapolatesTheResistanceOf')}</p>
          <Sheet
            label={say('test.pulsePower')}
            head={[
              'SOC',
              say('test.dischargeRSymbol', { symbol }),
              say('test.dischargePowerW'),
              say('test.chargeRSymbol', { symbol }),
              say('test.chargePowerW'),
              say('test.method'),
            ]}
            numeric={[0, 1, 2, 3, 4]}
            rows={powers.map((p) => [
              p.socBefore === null ? '–' : percent(p.socBefore),
              ohm(p.dischargeResistanceOhm, p.dischargeStandardUncertaintyOhm, p.dischargeReason),
              p.dischargePowerW === null ? (
                <Gap key="d" reason={p.dischargeReason} />
              ) : (
                significant(p.dischargePowerW, 4)
              ),
              ohm(p.chargeResistanceOhm, p.chargeStandardUncertaintyOhm, p.chargeReason),
              p.chargePowerW === null ? (
                <Gap key="c" reason={p.chargeReason} />
              ) : (
                significant(p.chargePowerW, 4)
              ),
              <Said key="method" text={p.method} />,
            ])}
          />
        </>
      )}
    </>
  );
}
