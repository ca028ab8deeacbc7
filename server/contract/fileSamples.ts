/** One column of a sample file: its header, what it holds, and other headers that mean the same. */
export interface SampleColumn {
  readonly header: string;
  readonly holds: string;
  readonly also: readonly string[];
}

/** A small file of one kind, complete enough to be imported as it is. Its values are invented. */
export interface FileSample {
  readonly kind: 'record' | 'cell-table' | 'cycle-table' | 'step-table' | 'impedance-table';
  readonly title: string;
  readonly fileName: string;
  readonly columns: readonly SampleColumn[];
  readonly rows: readonly (readonly (number | string)[])[];
}

const serial = {
  header: 'cell_id',
  holds: 'serial of the cell',
  also: ['Cell S/N', 'Serial number', 'QR code', 'Seriennummer'],
};

/** A file of each kind that an import recognises by its headers. A test imports every one, with each of the other headers. */
export const fileSamples: readonly FileSample[] = [
  {
    kind: 'record',
    title: 'A record: one row per sample',
    fileName: 'S-001_pulse_25C.csv',
    columns: [
      { header: 'Time (s)', holds: 'time from the start', also: ['Test time [s]', 'time_s', 'Zeit [s]'] },
      { header: 'Voltage (V)', holds: 'cell voltage', also: ['U [V]', 'voltage_V', 'Spannung [V]'] },
      {
        header: 'Current (A)',
        holds: 'current, positive on charge or stated otherwise',
        also: ['I [A]', 'current_mA', 'Strom [A]'],
      },
      {
        header: 'Temperature (C)',
        holds: 'temperature of the cell',
        also: ['T [°C]', 'temperature_C', 'Temperatur [°C]'],
      },
    ],
    rows: pulseRows(),
  },
  {
    kind: 'cell-table',
    title: 'A cell table: one row per cell',
    fileName: 'cells.csv',
    columns: [
      serial,
      {
        header: 'Capacity (Ah)',
        holds: 'discharge capacity',
        also: ['capacity_mAh', 'Cap [mAh]', 'Kapazität [mAh]'],
      },
      {
        header: 'ACIR 1 kHz (mOhm)',
        holds: 'impedance magnitude at 1 kHz',
        also: ['Ri 1kHz [mOhm]', 'ACR [mOhm]'],
      },
      {
        header: 'DCIR 10 s (mOhm)',
        holds: 'resistance 10 s after a step',
        also: ['DC resistance 10s [mOhm]'],
      },
      { header: 'OCV (V)', holds: 'open-circuit voltage', also: ['ocv_mV', 'Leerlaufspannung [V]'] },
      {
        header: 'K value (mV/d)',
        holds: 'self-discharge',
        also: ['K value (mV/h)', 'self discharge [mV/week]'],
      },
    ],
    rows: [
      ['S-001', 2.512, 14.2, 31.4, 3.6021, 0.11],
      ['S-002', 2.498, 14.6, 32.0, 3.6018, 0.13],
      ['S-003', 2.507, 14.3, 31.1, 3.6023, 0.1],
      ['S-004', 2.489, 14.9, 32.6, 3.6016, 0.12],
    ],
  },
  {
    kind: 'cycle-table',
    title: 'A cycle table: one row per cell and cycle',
    fileName: 'cycles.csv',
    columns: [
      serial,
      { header: 'Cycle', holds: 'number of the cycle', also: ['Cycle number', 'cycle_index'] },
      {
        header: 'Discharge capacity (Ah)',
        holds: 'discharge capacity',
        also: ['Capacity [mAh]', 'Kapazität [mAh]'],
      },
    ],
    rows: [0, 50, 100, 150, 200, 250].map((n) => ['S-001', n, Number((2.51 - 0.0004 * n).toFixed(4))]),
  },
  {
    kind: 'impedance-table',
    title: 'An impedance spectrum: one row per frequency',
    fileName: 'S-001_impedance_25C.csv',
    columns: [
      serial,
      { header: 'Frequency (Hz)', holds: 'frequency', also: ['freq [kHz]'] },
      { header: 'Re Z (mOhm)', holds: 'real part', also: ["Z' [Ohm]"] },
      { header: '-Im Z (mOhm)', holds: 'negative imaginary part', also: ["-Z'' [Ohm]"] },
    ],
    rows: [1000, 500, 200, 100, 50, 20, 10, 5, 2, 1].map((f) => {
      const x = f / 20;
      return ['S-001', f, round(14 + 9 / (1 + x * x)), round((9 * x) / (1 + x * x))];
    }),
  },
];

/** The sample as the text of a CSV file. */
export function sampleText({ columns, rows }: FileSample): string {
  return `${[columns.map(({ header }) => header), ...rows].map((row) => row.join(',')).join('\n')}\n`;
}

function round(x: number): number {
  return Number(x.toFixed(4));
}

/** A rest, a 10 s discharge at 2.5 A and the rest after it, in rows of 0.5 s. */
function pulseRows(): (readonly number[])[] {
  return Array.from({ length: 161 }, (_, k) => {
    const t = k / 2;
    const loaded = t > 20 && t <= 30;
    const ofBranch = (r: number, tau: number) => {
      if (t <= 20) return 0;
      const end = 1 - Math.exp(-Math.min(t - 20, 10) / tau);
      return r * (t <= 30 ? end : end * Math.exp(-(t - 30) / tau));
    };
    const drop = 2.5 * ((loaded ? 0.03 : 0) + ofBranch(0.008, 2) + ofBranch(0.006, 20));
    return [t, round(3.65 - drop), loaded ? -2.5 : 0, 25];
  });
}
