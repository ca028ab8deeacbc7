/** Seeded 32-bit generator (mulberry32), so that a failing file can be made again from its number. */
export function seededNumbers(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

const heads = [
  'time_s,voltage_V,current_A,temperature_C\n',
  'Bench 4;operator 2\n\nTime;Voltage;Current;Temp\ns;mV;mA;°C\n',
  '\uFEFF"Time [h]"\t"U (V)"\t"I (A)"\t"T / K"\r\n',
  'cell_id,run,time_s,voltage_V,current_A\n',
  'cell_id,capacity_Ah,resistance_10s_mohm,mass_g\n',
  'step_number,mode,duration_s,start_voltage_V\n',
  'sweep,SOC (%),frequency_Hz,z_real_ohm,-z_imag_ohm\n',
] as const;

/** A small good file of one of several kinds. */
export function makeFile(random: () => number): Buffer {
  const kind = Math.floor(random() * heads.length);
  const rows = 1 + Math.floor(random() * 60);
  let text: string = heads[kind];
  for (let i = 0; i < rows; i++) {
    const v = 3 + random();
    const line = [
      () => `${i / 10},${v.toFixed(4)},${(random() - 0.5).toFixed(3)},25.${i}`,
      () => `${i};${(v * 1000).toFixed(1).replace('.', ',')};${Math.round(random() * 900)};25,0`,
      () => `"${i}"\t${v.toFixed(5)}\t${random().toExponential(3)}\t298.15`,
      () => `C${i >> 3},${i >> 2},${i % 4},${v.toFixed(3)},1`,
      () =>
        `C-${i},${(2 + random() / 10).toFixed(4)},${(15 + random()).toFixed(2)},${(45 + random()).toFixed(1)}`,
      () => `${i},${i % 2 ? 'rest' : 'cc'},${10 + i},${v.toFixed(3)}`,
      () =>
        `${i >> 4},${i % 100},${(6000 / 2 ** (i % 16)).toFixed(3)},${(v / 100).toFixed(5)},${random().toFixed(6)}`,
    ][kind]();
    text += line + (kind === 2 ? '\r\n' : '\n');
  }
  return Buffer.from(text);
}

type Mutation = (file: Buffer, random: () => number) => Buffer;

const place = (file: Buffer, random: () => number): number => Math.floor(random() * (file.length + 1));
const insert = (file: Buffer, at: number, what: Buffer | string): Buffer =>
  Buffer.concat([file.subarray(0, at), Buffer.from(what as string), file.subarray(at)]);
const oddTexts = [
  ',,,,,,',
  ';;;',
  '"',
  '""',
  '"\n"',
  '\r',
  '\n\n\n',
  '\t',
  '\0',
  '\u2028',
  '-',
  '+',
  '.',
  'e',
  '1e999',
  '-1e-999',
  'NaN',
  'Infinity',
  '0x1F',
  '1_000',
  '٣٫١٤',
  '½',
  '1,234,567.8',
  '--5',
  '1e',
  '1e+',
  '.e1',
  "=cmd|'/c'!A1",
  '{"a":1}',
  '<xml/>',
  '\u202e',
  '💥',
  '999999999999999999999999',
  '0.1000000000000000055511151231257827',
  '-0',
  '1.7976931348623159e308',
] as const;

const mutations: readonly Mutation[] = [
  (file, random) => file.subarray(0, place(file, random)),
  (file, random) => file.subarray(place(file, random)),
  (file, random) => {
    const changed = Buffer.from(file);
    for (let i = 0; i < 1 + random() * 8 && changed.length > 0; i++) {
      changed[Math.floor(random() * changed.length)] = Math.floor(random() * 256);
    }
    return changed;
  },
  (file, random) => insert(file, place(file, random), oddTexts[Math.floor(random() * oddTexts.length)]),
  (file, random) =>
    insert(
      file,
      place(file, random),
      Buffer.from([0xff, 0xfe, 0x80, 0xc3].slice(0, 1 + Math.floor(random() * 4))),
    ),
  (file, random) =>
    insert(
      file,
      place(file, random),
      Buffer.alloc(1 + Math.floor(random() * 300), Math.floor(random() * 256)),
    ),
  (file, random) => insert(file, place(file, random), '7'.repeat(Math.floor(10 ** (random() * 4.5)))),
  (file, random) => insert(file, place(file, random), 'x'.repeat(Math.floor(10 ** (random() * 4.5)))),
  (file, random) => insert(file, place(file, random), ','.repeat(Math.floor(10 ** (random() * 4)))),
  (file) => {
    const lines = file.toString('latin1').split('\n');
    return Buffer.from([...lines.slice(1), lines[0]].join('\n'), 'latin1');
  },
  (file, random) => {
    const lines = file.toString('latin1').split('\n');
    const [a, b] = [Math.floor(random() * lines.length), Math.floor(random() * lines.length)];
    [lines[a], lines[b]] = [lines[b], lines[a]];
    return Buffer.from(lines.join('\n'), 'latin1');
  },
  (file, random) => {
    const [from, to] = [',;\t.'[Math.floor(random() * 4)], ',;\t.|'[Math.floor(random() * 5)]];
    return Buffer.from(file.toString('latin1').replaceAll(from, to), 'latin1');
  },
  (file) => Buffer.from(file.toString('utf8'), 'utf16le'),
  (file) => Buffer.concat([file, file]),
  (file) => Buffer.from(file.toString('latin1').replaceAll('\n', '\r'), 'latin1'),
  (file, random) => {
    const columns = Math.floor(10 ** (1 + random() * 3));
    const header = Array.from({ length: columns }, (_, i) => `c${i}`).join(',');
    return Buffer.concat([Buffer.from(`${header}\n${'1,'.repeat(columns - 1)}1\n`), file]);
  },
];

/** File number `n`: a good one, broken in one to four ways. */
export function mutatedFile(n: number): Buffer {
  const random = seededNumbers(n * 2654435761);
  let file = makeFile(random);
  const times = 1 + Math.floor(random() * 4);
  for (let i = 0; i < times; i++) file = mutations[Math.floor(random() * mutations.length)](file, random);
  return file;
}
