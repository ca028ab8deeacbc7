import { fixed, percent, significant } from '../../format/number.ts';
import { quantity } from '../../format/quantity.ts';
import { span } from '../../format/time.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import type { NamedCharge } from './studyPictures.ts';

/** The figures of one to four studies side by side, one column each. */
export function ChargeFigures({ charges }: { charges: readonly NamedCharge[] }) {
  const [units] = useUnits();
  const rows: (readonly [string, ...string[]])[] = [];
  const row = (name: string, pick: (c: NamedCharge) => string) => rows.push([name, ...charges.map(pick)]);
  const socs = [...new Set(charges.flatMap((c) => Object.keys(c.result.timesS)))].sort(
    (a, b) => Number(a) - Number(b),
  );
  for (const soc of socs) {
    row(say('charge.timeToSoc', { soc: percent(Number(soc), 0) }), ({ result }) => {
      const time = result.timesS[soc];
      if (typeof time === 'number') return span(time);
      return result.timesMissing[soc] === 'already-above-at-start'
        ? say('charge.atTheStart')
        : say('charge.notReached');
    });
  }
  row(say('charge.end'), ({ result }) => span(result.endTimeS));
  const most = Math.max(...charges.map((c) => c.result.cells.length));
  for (let i = 0; i < most; i++) {
    const cellRow = (what: string, pick: (cell: NamedCharge['result']['cells'][number]) => string) =>
      row(say('charge.whatCellI', { what, i: i + 1 }), ({ result }) => {
        const cell = result.cells[i];
        return cell === undefined ? '–' : pick(cell);
      });
    row(say('charge.cellI', { i: i + 1 }), ({ result }) => result.cells[i]?.name ?? '–');
    cellRow(say('charge.peakVoltage'), (c) =>
      c.overvoltageV > 0
        ? say('charge.vOverTheLimitByMV', {
            peakVoltageV: fixed(c.peakVoltageV, 3),
            overvoltageV: significant(c.overvoltageV * 1000, 3),
          })
        : `${fixed(c.peakVoltageV, 3)} V`,
    );
    cellRow(say('charge.endSoc'), (c) => percent(c.endSoc));
    cellRow(say('charge.peakTemperature'), (c) => `${significant(c.peakTemperatureC, 3)} °C`);
    cellRow(say('charge.bypassTook'), (c) => quantity(c.bypassChargeAh, 'Ah', units, 3));
  }
  row(say('charge.spreadOfEndSoc'), ({ result }) => percent(result.endSocSpread, 2));
  row(say('charge.energyFromTheSource'), ({ result }) => quantity(result.energy.fromSourceWh, 'Wh', units));
  row(say('charge.energyStored'), ({ result }) => quantity(result.energy.storedWh, 'Wh', units));
  row(say('charge.lostInTheCells'), ({ result }) => quantity(result.energy.cellLossWh, 'Wh', units, 3));
  row(say('charge.lostInCableAndConverter'), ({ result }) =>
    quantity(result.energy.cableLossWh + result.energy.converterLossWh, 'Wh', units, 3),
  );
  row(say('charge.lostInTheBypass'), ({ result }) => quantity(result.energy.bypassLossWh, 'Wh', units, 3));
  row(say('charge.efficiency'), ({ result }) =>
    result.energy.efficiency === null ? '–' : percent(result.energy.efficiency, 1),
  );
  return (
    <Sheet
      label={say('charge.figures')}
      head={['', ...charges.map((c, i) => (charges.length > 1 ? `${i + 1}. ${c.name}` : c.name))]}
      rows={rows}
      numeric={charges.map((_, i) => i + 1)}
      maxHeight={640}
    />
  );
}
