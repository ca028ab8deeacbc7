/** The quantities a column can have. `other` columns keep the unit they came with. */
export type Quantity =
  | 'time'
  | 'voltage'
  | 'current'
  | 'temperature'
  | 'charge'
  | 'energy'
  | 'power'
  | 'resistance'
  | 'mass'
  | 'length'
  | 'fraction'
  | 'frequency'
  | 'voltage-rate';

/**
 * How a number in this unit becomes one in the unit we keep: `value * multiply / divide + add`.
 * One of the factors is 1 in all decimal units, so that 2900 mA becomes exactly the float64 nearest to 2.9 (one correctly rounded division).
 */
export interface Unit {
  readonly symbol: string;
  readonly quantity: Quantity;
  readonly multiply: number;
  readonly divide: number;
  readonly add: number;
  /** The unit we keep, as a UCUM code: s, V, A, Cel, A.h, W.h, W, Ohm, g, mm, 1, Hz, mV/d. */
  readonly kept: string;
}

function unit(symbol: string, quantity: Quantity, kept: string, multiply = 1, divide = 1, add = 0): Unit {
  return { symbol, quantity, multiply, divide, add, kept };
}

const units: readonly Unit[] = [
  unit('s', 'time', 's'),
  unit('ms', 'time', 's', 1, 1000),
  unit('us', 'time', 's', 1, 1e6),
  unit('min', 'time', 's', 60),
  unit('h', 'time', 's', 3600),
  unit('d', 'time', 's', 86400),
  unit('V', 'voltage', 'V'),
  unit('mV', 'voltage', 'V', 1, 1000),
  unit('uV', 'voltage', 'V', 1, 1e6),
  unit('A', 'current', 'A'),
  unit('mA', 'current', 'A', 1, 1000),
  unit('uA', 'current', 'A', 1, 1e6),
  unit('°C', 'temperature', 'Cel'),
  unit('K', 'temperature', 'Cel', 1, 1, -273.15),
  unit('°F', 'temperature', 'Cel', 5, 9, -160 / 9),
  unit('Ah', 'charge', 'A.h'),
  unit('mAh', 'charge', 'A.h', 1, 1000),
  unit('Wh', 'energy', 'W.h'),
  unit('mWh', 'energy', 'W.h', 1, 1000),
  unit('W', 'power', 'W'),
  unit('mW', 'power', 'W', 1, 1000),
  unit('ohm', 'resistance', 'Ohm'),
  unit('mohm', 'resistance', 'Ohm', 1, 1000),
  unit('uohm', 'resistance', 'Ohm', 1, 1e6),
  unit('g', 'mass', 'g'),
  unit('kg', 'mass', 'g', 1000),
  unit('mm', 'length', 'mm'),
  unit('cm', 'length', 'mm', 10),
  unit('um', 'length', 'mm', 1, 1000),
  unit('1', 'fraction', '1'),
  unit('%', 'fraction', '1', 1, 100),
  unit('Hz', 'frequency', 'Hz'),
  unit('kHz', 'frequency', 'Hz', 1000),
  unit('mV/d', 'voltage-rate', 'mV/d'),
  unit('mV/h', 'voltage-rate', 'mV/d', 24),
  unit('mV/week', 'voltage-rate', 'mV/d', 1, 7),
  unit('V/d', 'voltage-rate', 'mV/d', 1000),
  unit('V/h', 'voltage-rate', 'mV/d', 24_000),
  unit('V/week', 'voltage-rate', 'mV/d', 1000, 7),
  unit('uV/d', 'voltage-rate', 'mV/d', 1, 1000),
  unit('uV/h', 'voltage-rate', 'mV/d', 24, 1000),
  unit('uV/week', 'voltage-rate', 'mV/d', 1, 7000),
];

const bySymbol = new Map(units.map((u) => [u.symbol, u]));

/** Other spellings met in files. Case matters only where it changes the meaning (mV, MV). */
const spellings: Readonly<Record<string, string>> = {
  sec: 's',
  secs: 's',
  second: 's',
  seconds: 's',
  msec: 'ms',
  millisecond: 'ms',
  milliseconds: 'ms',
  mins: 'min',
  minute: 'min',
  minutes: 'min',
  hr: 'h',
  hrs: 'h',
  hour: 'h',
  hours: 'h',
  day: 'd',
  days: 'd',
  volt: 'V',
  volts: 'V',
  amp: 'A',
  amps: 'A',
  ampere: 'A',
  amperes: 'A',
  c: '°C',
  degc: '°C',
  'deg c': '°C',
  '°c': '°C',
  '℃': '°C',
  celsius: '°C',
  kelvin: 'K',
  degf: '°F',
  'deg f': '°F',
  '°f': '°F',
  '℉': '°F',
  fahrenheit: '°F',
  ω: 'ohm',
  ohms: 'ohm',
  mω: 'mohm',
  milliohm: 'mohm',
  percent: '%',
  pct: '%',
  a·h: 'Ah',
  'a.h': 'Ah',
  ma·h: 'mAh',
  'ma.h': 'mAh',
  w·h: 'Wh',
  'w.h': 'Wh',
  ahr: 'Ah',
  mahr: 'mAh',
  vdc: 'V',
  adc: 'A',
  sek: 's',
  std: 'h',
  tage: 'd',
};

/**
 * The unit a text names, or null. Understands `mA`, `µV`, `Ω`, `degC`, `seconds` …; a wrong case is forgiven where it
 * leaves one meaning (`AH`, `Sec`), never between milli and mega.
 */
export function parseUnit(text: string): Unit | null {
  const clean = text
    .trim()
    .normalize('NFC')
    .replace(/[µμ]/g, 'u')
    .replace(/[ΩΩ]/g, 'ohm')
    .replace(/º/g, '°')
    .replace(/^°\s+/, '°');
  if (clean === '') return null;
  const rate = rateText(clean);
  if (rate !== null) return bySymbol.get(rate) ?? null;
  const exact = bySymbol.get(clean);
  if (exact !== undefined) return exact;
  if (clean.startsWith('M') && clean !== 'Min' && clean !== 'MIN') return null;
  const lower = clean.toLowerCase();
  const spelled = spellings[lower];
  if (spelled !== undefined) return bySymbol.get(spelled) ?? null;
  const matches = units.filter((u) => u.symbol.toLowerCase() === lower);
  return matches.length === 1 ? matches[0] : null;
}

const perTime =
  /^([mu]?V)[\s_]*(?:\/|per|p\.)[\s_]*(h|hr|hour|hours|d|day|days|tag|w|wk|week|weeks|woche)\.?$/i;

/** `mV/h`, `uV per day` … as the symbol of that unit; null for any other text. */
function rateText(clean: string): string | null {
  const match = perTime.exec(clean);
  if (match === null || match[1].startsWith('M')) return null;
  const volts = match[1].toLowerCase().replace('v', 'V');
  const time = match[2].toLowerCase();
  return `${volts}/${time.startsWith('h') ? 'h' : time.startsWith('w') ? 'week' : 'd'}`;
}

/** A rate of voltage at a header's end: `drift_mV_per_day`, `K value mV/h`. */
const rateTail =
  /^(.*?)[\s_.-]+([muµμ]?V[\s_]*(?:\/|per)[\s_]*(?:h|hr|hour|hours|d|day|days|tag|w|wk|week|weeks|woche))$/i;
/** A duration or frequency that says how a resistance was measured, and is not its unit: `DCIR 10 s`, `ACIR 1 kHz`. */
const conditionTail =
  /(?:^|[\s_.-])(?:[rz]|ri|ir|rac|rdc|acir|acr|dcir|dcr|res|resistance|impedance|\w*widerstand|impedanz)[\s_.@-]*(?:.*[\s_.@-])?\d+(?:[.,p]\d+)?[\s_]*(?:ms|s|sec|min|k?hz)$/i;

/** Symbols understood for one quantity, for messages. */
export function unitsOf(quantity: Quantity): string[] {
  return units.filter((u) => u.quantity === quantity).map((u) => u.symbol);
}

/** A header such as `Voltage (mV)`, `U/mV`, `voltage_mV`, `Time [h]` or `I in mA` split into name and unit. */
export function splitHeader(header: string): { name: string; unit: Unit | null; unitText: string | null } {
  const text = header.trim();
  const bracket = /^(.*?)[\s_]*[([{<]\s*([^()[\]{}<>]{1,12}?)\s*[)\]}>]\s*$/.exec(text);
  if (bracket !== null && bracket[1] !== '') {
    return { name: bracket[1].trim(), unit: parseUnit(bracket[2]), unitText: bracket[2] };
  }
  const rate = rateTail.exec(text.replace(/_/g, ' '));
  if (rate !== null && rate[1] !== '') return { name: rate[1], unit: parseUnit(rate[2]), unitText: rate[2] };
  if (conditionTail.test(text)) return { name: text, unit: null, unitText: null };
  const tail = /^(.+?)(?:\s*\/\s*|\s+in\s+|[\s_.-]+)([^\s_/]{1,12})$/.exec(text);
  if (tail !== null) {
    const found = parseUnit(tail[2]);
    // A single letter after a blank may belong to the name ("Phase C"); after a bar or underscore it is a unit.
    if (found !== null) return { name: tail[1].trim(), unit: found, unitText: tail[2] };
  }
  return { name: text, unit: null, unitText: null };
}
