import type { ChargeStudyResult } from '../../../../server/contract/chargeStudyResult.ts';
import { percent, significant } from '../../format/number.ts';
import { span } from '../../format/time.ts';
import { Sheet } from '../../parts/Sheet.tsx';

/** What the uncertainty of the parameters does to the answers. */
export function Spread({ result }: { result: ChargeStudyResult }) {
  const found = result.monteCarlo;
  if (found === null) {
    const why = result.warnings.find((warning) => warning.code === 'no-uncertainty');
    return why === undefined ? null : (
      <>
        <h2>How sure this is</h2>
        <p className="warning">{why.message}</p>
      </>
    );
  }
  const row = (name: string, of: typeof found.endTimeS, show: (value: number) => string) => [
    name,
    show(of.low),
    show(of.median),
    show(of.high),
  ];
  const level = percent(found.level, 0);
  return (
    <>
      <h2>How sure this is</h2>
      <p>
        {found.draws} charges with parameters drawn from their uncertainties (seed {found.seed}
        {found.refused > 0 && <>; {found.refused} draws left their range and were not used</>}).
      </p>
      <Sheet
        label="Spread"
        head={['', `Low (${level} interval)`, 'Median', 'High']}
        numeric={[1, 2, 3]}
        rows={[
          row('End', found.endTimeS, span),
          ...Object.entries(found.targetTimesS).flatMap(([soc, of]) =>
            of === null ? [] : [row(`Time to ${percent(Number(soc), 0)}`, of, span)],
          ),
          row('Peak temperature', found.peakTemperatureC, (v) => `${significant(v, 3)} °C`),
          row('Highest cell voltage', found.worstCellVoltageV, (v) => `${v.toFixed(3)} V`),
          row('Spread of end SOC', found.endSocSpread, (v) => percent(v, 2)),
        ]}
      />
    </>
  );
}
