/** A file as a German office computer writes it: Windows-1252, semicolons, decimal commas, a row of units. */
export interface OfficeFile {
  readonly name: string;
  readonly bytes: Buffer;
}

const cells = 12;
const serialOf = (i: number) => `P3-${String(i + 1).padStart(3, '0')}`;
const text = (value: number, decimals: number) => value.toFixed(decimals).replace('.', ',');
const file = (name: string, rows: readonly (readonly string[])[]): OfficeFile => ({
  name,
  bytes: Buffer.from(rows.map((row) => `${row.join(';')}\r\n`).join(''), 'latin1'),
});

/** Numbers between −1 and 1 that are the same in every run. */
function* noise(seed: number): Generator<number> {
  for (let state = seed; ; ) {
    state = (1664525 * state + 1013904223) % 4294967296;
    yield state / 2147483648 - 1;
  }
}

/** A cell table and the pulse record of each of its cells; the cells differ a little. */
export function germanFiles(): readonly OfficeFile[] {
  const draws = noise(7);
  const next = () => draws.next().value as number;
  const made = Array.from({ length: cells }, (_, i) => ({
    serial: serialOf(i),
    capacityAh: 3.0 + 0.03 * next(),
    ohm: 0.015 + 0.0006 * next(),
  }));
  const table = file('Zellen.csv', [
    ['Seriennummer', 'Kapazität', 'Innenwiderstand', 'Leerlaufspannung', 'Masse'],
    ['', 'Ah', 'mΩ'.replace('Ω', 'Ohm'), 'V', 'g'],
    ...made.map((cell) => [
      cell.serial,
      text(cell.capacityAh, 4),
      text(1000 * cell.ohm, 3),
      text(3.6 + 0.001 * next(), 4),
      text(47 + 0.1 * next(), 2),
    ]),
  ]);
  return [table, ...made.map((cell) => file(`${cell.serial}_Puls_25C.csv`, pulseRows(cell.ohm, next)))];
}

/** Discharge pulses of 10 s, each after a long rest, at four states of charge; between them 20 % is taken out. */
function pulseRows(ohm: number, next: () => number): string[][] {
  const rows: string[][] = [
    ['Prüfzeit', 'Spannung', 'Strom', 'Temperatur'],
    ['s', 'V', 'A', '°C'],
  ];
  const branches = [
    { ohm: 0.3 * ohm, tauS: 1.5 },
    { ohm: 0.4 * ohm, tauS: 25 },
  ];
  const held = branches.map(() => 0);
  let t = 0;
  let soc = 0.9;
  const step = (seconds: number, stepS: number, currentA: number) => {
    for (let s = 0; s < seconds; s += stepS) {
      t += stepS;
      soc -= (currentA * stepS) / 3600 / 3;
      branches.forEach((b, i) => {
        const decay = Math.exp(-stepS / b.tauS);
        held[i] = held[i] * decay + currentA * b.ohm * (1 - decay);
      });
      const volts = 3.2 + 0.9 * soc - currentA * ohm - held.reduce((a, b) => a + b, 0);
      rows.push([
        text(t, 1),
        text(volts + 0.0001 * next(), 5),
        text(-currentA, 3),
        text(25 + 0.05 * next(), 2),
      ]);
    }
  };
  for (let pulse = 0; pulse < 4; pulse++) {
    step(60, 2, 0);
    step(10, 0.1, 3);
    step(60, 0.5, 0);
    step(600, 5, 3);
    step(300, 5, 0);
  }
  return rows;
}
