import type { MeasurementColumn, QuantityName } from '../../../server/contract/measurements.ts';

const names: Readonly<Record<QuantityName, string>> = {
  capacity: 'Capacity',
  'charge-capacity': 'Charge taken',
  energy: 'Energy',
  'charge-energy': 'Energy taken',
  'coulombic-efficiency': 'Coulombic efficiency',
  'energy-efficiency': 'Energy efficiency',
  resistance: 'R',
  rdc: 'Rdc',
  'impedance-1khz': '|Z| at 1 kHz',
  r0: 'R0',
  r1: 'R1',
  tau1: 'tau1',
  r2: 'R2',
  tau2: 'tau2',
  r3: 'R3',
  tau3: 'tau3',
  ocv: 'OCV',
  drift: 'Drift at rest',
  'leakage-current': 'Leakage current',
  mass: 'Mass',
  thickness: 'Thickness',
  'charge-time': 'Charge time',
  'temperature-max': 'Highest temperature',
  'fade-rate': 'Fade rate',
  'resistance-rise-rate': 'Rate of resistance rise',
  'end-of-life': 'End of life',
  other: 'Other',
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
