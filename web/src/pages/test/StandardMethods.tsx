import type { EvaluatedPulseRecord } from '../../../../server/contract/pulseRecord.ts';
import { percent, significant, withUncertainty } from '../../format/number.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { displayUnit } from '../../settings/units.ts';
import { useUnits } from '../../settings/useUnits.ts';
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
      <h2>By standard methods</h2>
      {two.length > 0 && (
        <>
          <p>
            Rdc compares the voltage just before a second, higher current with the voltage 1 s after it. At
            the same duration it differs from R(t) out of rest by what the first current still does in that
            second.
          </p>
          <Sheet
            label="Two-level DC resistance"
            head={['SOC', 'Currents, A', `Rdc, ${symbol}`, 'Method']}
            numeric={[0, 1, 2]}
            rows={two.map((r) => [
              r.socBefore === null ? '–' : percent(r.socBefore),
              `${significant(r.firstCurrentA, 3)} → ${significant(r.secondCurrentA, 3)}`,
              ohm(r.valueOhm, r.standardUncertaintyOhm, r.reason),
              r.method,
            ])}
          />
        </>
      )}
      {powers.length > 0 && (
        <>
          <p>
            Pulse power extrapolates the resistance of a pulse to the voltage limit: what the cell could give
            or take for that duration. It does not advise drawing that power.
          </p>
          <Sheet
            label="Pulse power"
            head={[
              'SOC',
              `Discharge R, ${symbol}`,
              'Discharge power, W',
              `Charge R, ${symbol}`,
              'Charge power, W',
              'Method',
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
              p.method,
            ])}
          />
        </>
      )}
    </>
  );
}
