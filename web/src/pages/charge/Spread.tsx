import type { ChargeStudyResult } from '../../../../server/contract/chargeStudyResult.ts';
import { fixed, percent, significant } from '../../format/number.ts';
import { span } from '../../format/time.ts';
import { Said } from '../../parts/Said.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { say } from '../../words/i18n.ts';

/** What the uncertainty of the parameters does to the answers. */
export function Spread({ result }: { result: ChargeStudyResult }) {
  const found = result.monteCarlo;
  if (found === null) {
    const why = result.warnings.find((warning) => warning.code === 'no-uncertainty');
    return why === undefined ? null : (
      <>
        <h2>{say('charge.howSureThisIs')}</h2>
        <p className="warning">
          <Said text={why.message} />
        </p>
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
      <h2>{say('charge.howSureThisIs')}</h2>
      <p>
        {say('charge.drawsChargesWithParametersDrawnFrom', { draws: found.draws, seed: found.seed })}
        {found.refused > 0 && <>{say('charge.refusedDrawsLeftTheirRangeAnd', { refused: found.refused })}</>}
        ).
      </p>
      <Sheet
        label={say('charge.spread')}
        head={['', say('charge.lowLevelInterval', { level }), say('charge.median'), say('charge.high')]}
        numeric={[1, 2, 3]}
        rows={[
          row(say('charge.end'), found.endTimeS, span),
          ...Object.entries(found.targetTimesS).flatMap(([soc, of]) =>
            of === null ? [] : [row(say('charge.timeToSoc', { soc: percent(Number(soc), 0) }), of, span)],
          ),
          row(say('charge.peakTemperature'), found.peakTemperatureC, (v) => `${significant(v, 3)} °C`),
          row(say('charge.highestCellVoltage'), found.worstCellVoltageV, (v) => `${fixed(v, 3)} V`),
          row(say('charge.spreadOfEndSoc'), found.endSocSpread, (v) => percent(v, 2)),
        ]}
      />
    </>
  );
}
