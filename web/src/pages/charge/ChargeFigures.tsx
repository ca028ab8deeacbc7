import { percent, significant } from '../../format/number.ts';
import { quantity } from '../../format/quantity.ts';
import { span } from '../../format/time.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { useUnits } from '../../settings/useUnits.ts';
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
    row(`Time to ${percent(Number(soc), 0)}`, ({ result }) => {
      const time = result.timesS[soc];
      if (typeof time === 'number') return span(time);
      return result.timesMissing[soc] === 'already-above-at-start' ? 'at the start' : 'not reached';
    });
  }
  row('End', ({ result }) => span(result.endTimeS));
  const most = Math.max(...charges.map((c) => c.result.cells.length));
  for (let i = 0; i < most; i++) {
    const cellRow = (what: string, pick: (cell: NamedCharge['result']['cells'][number]) => string) =>
      row(`${what}, cell ${i + 1}`, ({ result }) => {
        const cell = result.cells[i];
        return cell === undefined ? '–' : pick(cell);
      });
    row(`Cell ${i + 1}`, ({ result }) => result.cells[i]?.name ?? '–');
    cellRow('Peak voltage', (c) =>
      c.overvoltageV > 0
        ? `${c.peakVoltageV.toFixed(3)} V (over the limit by ${significant(c.overvoltageV * 1000, 3)} mV)`
        : `${c.peakVoltageV.toFixed(3)} V`,
    );
    cellRow('End SOC', (c) => percent(c.endSoc));
    cellRow('Peak temperature', (c) => `${significant(c.peakTemperatureC, 3)} °C`);
    cellRow('Bypass took', (c) => quantity(c.bypassChargeAh, 'Ah', units, 3));
  }
  row('Spread of end SOC', ({ result }) => percent(result.endSocSpread, 2));
  row('Energy from the source', ({ result }) => quantity(result.energy.fromSourceWh, 'Wh', units));
  row('Energy stored', ({ result }) => quantity(result.energy.storedWh, 'Wh', units));
  row('Lost in the cells', ({ result }) => quantity(result.energy.cellLossWh, 'Wh', units, 3));
  row('Lost in cable and converter', ({ result }) =>
    quantity(result.energy.cableLossWh + result.energy.converterLossWh, 'Wh', units, 3),
  );
  row('Lost in the bypass', ({ result }) => quantity(result.energy.bypassLossWh, 'Wh', units, 3));
  row('Efficiency', ({ result }) =>
    result.energy.efficiency === null ? '–' : percent(result.energy.efficiency, 1),
  );
  return (
    <Sheet
      label="Figures"
      head={['', ...charges.map((c, i) => (charges.length > 1 ? `${i + 1}. ${c.name}` : c.name))]}
      rows={rows}
      numeric={charges.map((_, i) => i + 1)}
      maxHeight={640}
    />
  );
}
