import type { MeasurementColumn, QuantityName } from '../../../server/contract/measurements.ts';
import { say } from './i18n.ts';

const names: Readonly<Record<QuantityName, string>> = {
  capacity: say('words.capacity'),
  'charge-capacity': say('words.chargeTaken'),
  energy: say('words.energy'),
  'charge-energy': say('words.energyTaken'),
  'coulombic-efficiency': say('words.coulombicEfficiency'),
  'energy-efficiency': say('words.energyEfficiency'),
  resistance: 'R',
  rdc: 'Rdc',
  'impedance-1khz': say('words.zAt1Khz'),
  r0: 'R0',
  r1: 'R1',
  tau1: 'tau1',
  r2: 'R2',
  tau2: 'tau2',
  r3: 'R3',
  tau3: 'tau3',
  ocv: 'OCV',
  drift: say('words.driftAtRest'),
  'leakage-current': say('words.leakageCurrent'),
  mass: say('words.mass'),
  thickness: say('words.thickness'),
  'charge-time': say('words.chargeTime'),
  'temperature-max': say('words.highestTemperature'),
  'fade-rate': say('words.fadeRate'),
  'resistance-rise-rate': say('words.rateOfResistanceRise'),
  'end-of-life': say('words.endOfLife'),
  other: say('words.other'),
};

interface Conditioned {
  readonly quantity: QuantityName;
  readonly durationS: number | null;
  readonly direction: 'charge' | 'discharge' | null;
  readonly soc: number | null;
}

/** What a column or a measurement is of, with the condition it belongs to: `R(10 s), discharge, 50 % SOC`. */
export function quantityTitle(of: Conditioned): string {
  const name =
    of.quantity === 'resistance' && of.durationS !== null ? `R(${of.durationS} s)` : names[of.quantity];
  const parts = [name];
  if (of.direction !== null) parts.push(of.direction);
  if (of.soc !== null) parts.push(`${Math.round(of.soc * 100)} % SOC`);
  return parts.join(', ');
}

/** The same with the temperature the column was measured at, to 5 °C: `Capacity, 25 °C`. */
export function columnTitle(column: MeasurementColumn): string {
  const title = quantityTitle(column);
  return column.temperatureC === null ? title : `${title}, ${column.temperatureC} °C`;
}
