import type { ChargeStudyResult } from '../../../../server/contract/chargeStudyResult.ts';
import { percent, significant } from '../../format/number.ts';
import { span } from '../../format/time.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { momentWords } from '../../words/charge.ts';
import { say } from '../../words/i18n.ts';

/** Power and losses at the moments of a charge that are read off. */
export function PowerTable({ result }: { result: ChargeStudyResult }) {
  const points = result.operatingPoints;
  if (points.length === 0) return null;
  const row = (name: string, of: (point: (typeof points)[number]) => string) => [name, ...points.map(of)];
  const watts = (value: number) => `${significant(value, 3)} W`;
  const share = (value: number | null) => (value === null ? '–' : percent(value, 1));
  return (
    <>
      <h2>{say('charge.powerAndLosses')}</h2>
      <Sheet
        label={say('charge.powerAndLosses')}
        head={['', ...points.map((point) => momentWords[point.moment])]}
        numeric={points.map((_, i) => i + 1)}
        rows={[
          row(say('charge.time'), (p) => span(p.timeS)),
          row(say('charge.outOfTheSource'), (p) => watts(p.sourceW)),
          row(say('charge.bus'), (p) =>
            p.busVoltageV === null || p.busCurrentA === null
              ? '–'
              : `${significant(p.busVoltageV, 4)} V, ${significant(p.busCurrentA, 3)} A`,
          ),
          row(
            say('charge.stack'),
            (p) => `${significant(p.stackVoltageV, 4)} V, ${significant(p.stackCurrentA, 3)} A`,
          ),
          row(say('charge.currentOfEachPath'), (p) =>
            p.pathCurrentsA === null ? '–' : p.pathCurrentsA.map((a) => `${significant(a, 3)} A`).join(' + '),
          ),
          row(say('charge.lostInTheCable'), (p) => watts(p.cableLossW)),
          row(say('charge.lostInTheConverter'), (p) => watts(p.converterLossW)),
          row(say('charge.lostBetweenChargerAndCells'), (p) => watts(p.stackResistanceLossW)),
          row(say('charge.lostInTheCells'), (p) => watts(p.cellLossW)),
          row(say('charge.lostInTheBypass'), (p) => watts(p.bypassLossW)),
          row(say('charge.efficiencyToTheCells'), (p) => share(p.deliveredEfficiency)),
          row(say('charge.storedOfWhatTheSourceGives'), (p) => share(p.efficiency)),
        ]}
      />
    </>
  );
}
