import type { ChargeStudyResult } from '../../../../server/contract/chargeStudyResult.ts';
import { percent, significant } from '../../format/number.ts';
import { span } from '../../format/time.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { momentWords } from '../../words/charge.ts';

/** Power and losses at the moments of a charge that are read off. */
export function PowerTable({ result }: { result: ChargeStudyResult }) {
  const points = result.operatingPoints;
  if (points.length === 0) return null;
  const row = (name: string, of: (point: (typeof points)[number]) => string) => [name, ...points.map(of)];
  const watts = (value: number) => `${significant(value, 3)} W`;
  const share = (value: number | null) => (value === null ? '–' : percent(value, 1));
  return (
    <>
      <h2>Power and losses</h2>
      <Sheet
        label="Power and losses"
        head={['', ...points.map((point) => momentWords[point.moment])]}
        numeric={points.map((_, i) => i + 1)}
        rows={[
          row('Time', (p) => span(p.timeS)),
          row('Out of the source', (p) => watts(p.sourceW)),
          row('Bus', (p) =>
            p.busVoltageV === null || p.busCurrentA === null
              ? '–'
              : `${significant(p.busVoltageV, 4)} V, ${significant(p.busCurrentA, 3)} A`,
          ),
          row('Stack', (p) => `${significant(p.stackVoltageV, 4)} V, ${significant(p.stackCurrentA, 3)} A`),
          row('Current of each path', (p) =>
            p.pathCurrentsA === null ? '–' : p.pathCurrentsA.map((a) => `${significant(a, 3)} A`).join(' + '),
          ),
          row('Lost in the cable', (p) => watts(p.cableLossW)),
          row('Lost in the converter', (p) => watts(p.converterLossW)),
          row('Lost between charger and cells', (p) => watts(p.stackResistanceLossW)),
          row('Lost in the cells', (p) => watts(p.cellLossW)),
          row('Lost in the bypass', (p) => watts(p.bypassLossW)),
          row('Efficiency to the cells', (p) => share(p.deliveredEfficiency)),
          row('Stored of what the source gives', (p) => share(p.efficiency)),
        ]}
      />
    </>
  );
}
