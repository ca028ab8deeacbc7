import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { performance } from 'node:perf_hooks';
import { CompiledCell } from '../../fitting/charging/cellModel.ts';
import { type ChargeSetup, DEFAULT_TOLERANCE } from '../../fitting/charging/chargeSetup.ts';
import { monteCarlo } from '../../fitting/charging/monteCarlo.ts';
import { searchRate } from '../../fitting/charging/rateSearch.ts';
import { simulateCharge } from '../../fitting/charging/simulateCharge.ts';
import { seededRandom } from '../../fitting/statistics/random.ts';
import { findPython, runPython } from '../support/python.ts';
import { type Bench, type BenchResult, type BenchRow, median, shareOf, time } from './harness.ts';

/**
 * One charge of two unequal cells in series: 2.5 A until the first cell reaches its limit, then that cell held there to
 * 0.125 A; two RC branches, R0 over temperature by Arrhenius, a heat balance each. OCV after Chen and Rincón-Mora, IEEE
 * Trans. Energy Convers. 21 (2006) 504–511, whose cells were charged to 4.10 V.
 */
const chargeCase = {
  cells: [
    { capacityAh: 2.4, r0Ohm: 0.055, startSoc: 0.15 },
    { capacityAh: 2.5, r0Ohm: 0.05, startSoc: 0.1 },
  ],
  branches: [
    { rOhm: 0.015, tauS: 1.6 },
    { rOhm: 0.02, tauS: 60 },
  ],
  ocv: { a: -1.031, b: 35, coefficients: [3.685, 0.2156, -0.1178, 0.3201] },
  activationEnergyJPerMol: 25_000,
  ambientC: 25,
  heatCapacityJPerK: 47.5,
  heatTransferWPerK: 0.0418,
  voltageLimitV: 4.1,
  currentA: 2.5,
  endCurrentA: 0.125,
};

const ROUNDS = shareOf(3);
const BLOCKS_PER_ROUND = shareOf(60, 2);
const CHARGES_PER_BLOCK = shareOf(30, 2);

interface PeerRun {
  readonly name: string;
  readonly endS: number;
  readonly steps: number;
  readonly medianS: number;
}

function setupOf(): ChargeSetup {
  const both = (value: number) => Float64Array.of(value, value);
  const { voltageLimitV } = chargeCase;
  return {
    cells: chargeCase.cells.map(({ capacityAh, r0Ohm, startSoc }) => ({
      cell: new CompiledCell({
        capacityAh,
        soc: Float64Array.of(0, 1),
        temperatureC: Float64Array.of(25),
        ocv: { kind: 'exponential-polynomial', ...chargeCase.ocv },
        r0Ohm: both(r0Ohm),
        branches: chargeCase.branches.map(({ rOhm, tauS }) => ({ rOhm: both(rOhm), tauS: both(tauS) })),
        arrhenius: {
          activationEnergyJPerMol: chargeCase.activationEnergyJPerMol,
          referenceTemperatureC: 25,
          branchesToo: false,
        },
        entropicVPerK: null,
        thermal: {
          heatCapacityJPerK: chargeCase.heatCapacityJPerK,
          heatTransferWPerK: chargeCase.heatTransferWPerK,
        },
      }),
      startSoc,
      startTemperatureC: chargeCase.ambientC,
      voltageLimitV,
      datasheetVoltageV: voltageLimitV,
      ratedCurrentA: 10,
      minTemperatureC: null,
      maxTemperatureC: null,
      datasheetZones: null,
      bypass: null,
    })),
    stackResistance: { toSenseOhm: 0, beyondSenseOhm: 0 },
    ambientTemperatureC: chargeCase.ambientC,
    watch: 'per-cell',
    stackVoltageLimitV: 2 * voltageLimitV,
    precharge: null,
    stages: [{ currentA: chargeCase.currentA, until: null }],
    endCurrentA: chargeCase.endCurrentA,
    taper: 'continuous',
    restAfterS: 0,
    maxDurationS: 86_400,
    zones: null,
    zoneHysteresisK: 1,
    supply: null,
    seriesStepS: null,
    timesAtSoc: [0.5, 0.8, 1],
    tolerance: DEFAULT_TOLERANCE,
  };
}

/** Seconds of one charge of ours, the median over blocks that take about as long as one charge of a peer. */
function timeOurs(setup: ChargeSetup): number {
  const seconds: number[] = [];
  for (let b = 0; b < BLOCKS_PER_ROUND; b++) {
    const start = performance.now();
    for (let i = 0; i < CHARGES_PER_BLOCK; i++) simulateCharge(setup);
    seconds.push((performance.now() - start) / 1000 / CHARGES_PER_BLOCK);
  }
  return median(seconds);
}

/** The same charge as a circuit; the charger is a current source that falls steeply as cell A reaches its limit. */
function circuit(runs: number): string {
  const { ocv, branches, activationEnergyJPerMol: ea } = chargeCase;
  const [c0, c1, c2, c3] = ocv.coefficients;
  const cell = (
    { capacityAh, r0Ohm, startSoc }: (typeof chargeCase.cells)[number],
    k: number,
    top: string,
  ) => [
    `Bq${k} 0 z${k} I=i(Vi${k})`,
    `Cq${k} z${k} 0 ${capacityAh * 3600} ic=${startSoc}`,
    `Vi${k} ${top} a${k} 0`,
    `Br${k} a${k} b${k} V=i(Vi${k})*${r0Ohm}*exp(${ea / 8.31446261815324}*(1/(v(t${k})+273.15)-1/298.15))`,
    ...branches.map(
      ({ rOhm, tauS }, j) =>
        `R${k}${j} ${'bc'[j]}${k} ${'cd'[j]}${k} ${rOhm}\nC${k}${j} ${'bc'[j]}${k} ${'cd'[j]}${k} ${tauS / rOhm} ic=0`,
    ),
    `Bo${k} d${k} e${k} V=${ocv.a}*exp(-${ocv.b}*v(z${k}))+${c0}+v(z${k})*(${c1}+v(z${k})*(${c2}+v(z${k})*${c3}))`,
    `Bh${k} 0 t${k} I=i(Vi${k})*(v(a${k})-v(d${k}))-${chargeCase.heatTransferWPerK}*(v(t${k})-${chargeCase.ambientC})`,
    `Ct${k} t${k} 0 ${chargeCase.heatCapacityJPerK} ic=${chargeCase.ambientC}`,
    k === 0 ? 'Vmid e0 e0m 0' : `Vbot e${k} 0 0`,
  ];
  const [a, b] = chargeCase.cells;
  return [
    'two-cell charge',
    `Bc 0 p I=max(0,min(${chargeCase.currentA},1e5*(${chargeCase.voltageLimitV}-v(p,e0))))`,
    ...cell(a, 0, 'p'),
    ...cell(b, 1, 'e0m'),
    '.options method=gear reltol=1e-5',
    '.control',
    ...Array.from({ length: runs }, () => 'tran 1 5200 0 1 uic'),
    ...(runs > 0 ? [`meas tran tend when i(Vi0)=${chargeCase.endCurrentA} fall=last`] : []),
    'quit',
    '.endc',
    '.end',
    '',
  ].join('\n');
}

function runNgspice(runs: number): { seconds: number; endS: number | null } | null {
  const folder = mkdtempSync(join(tmpdir(), 'charge-bench-'));
  try {
    const file = join(folder, 'charge.cir');
    writeFileSync(file, circuit(runs));
    const start = performance.now();
    const run = spawnSync('ngspice', ['-b', file], { encoding: 'utf8', timeout: 60_000, maxBuffer: 1 << 28 });
    const seconds = (performance.now() - start) / 1000;
    if (run.error !== undefined) return null;
    const end = /tend\s*=\s*([\d.e+-]+)/.exec(run.stdout);
    return { seconds, endS: end === null ? null : Number(end[1]) };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function timeNgspice(): { medianS: number; endS: number | null } | null {
  const many = 20;
  const bare: number[] = [];
  const full: number[] = [];
  let endS: number | null = null;
  for (let round = 0; round < ROUNDS; round++) {
    const empty = runNgspice(0);
    const run = runNgspice(many);
    if (empty === null || run === null) return null;
    bare.push(empty.seconds);
    full.push(run.seconds);
    endS = run.endS;
  }
  return { medianS: (median(full) - median(bare)) / many, endS };
}

async function run(): Promise<BenchResult> {
  const name = 'charge';
  const title = 'Charge of two cells in series, two RC branches, R0(T) and heat each';
  const setup = setupOf();
  for (let i = 0; i < 3000; i++) simulateCharge(setup);
  const charge = simulateCharge(setup);
  const python = findPython('scipy');
  const ours: number[] = [];
  const peers: PeerRun[][] = [];
  let reference: number | null = null;
  const program = python === null ? '' : readFileSync(new URL('charge-peer.py', import.meta.url), 'utf8');
  for (let round = 0; round < ROUNDS; round++) {
    ours.push(timeOurs(setup));
    if (python === null) continue;
    const answer = runPython(python, program, {
      case: chargeCase,
      rounds: shareOf(9),
      reference: round === 0,
    }) as {
      reference: [number, number, number] | null;
      runs: PeerRun[];
    };
    if (answer.reference !== null) reference = answer.reference[1];
    peers.push(answer.runs);
  }
  const oursS = median(ours);
  const off = (endS: number) =>
    reference === null ? '' : `end time off by ${(endS - reference).toExponential(1)} s`;
  const rows: BenchRow[] = [
    { who: 'ours', medianS: oursS, note: `${charge.steps} steps, ${off(charge.endTimeS)}` },
  ];
  (peers[0] ?? []).forEach((peer, p) => {
    const medianS = median(peers.map((round) => round[p].medianS));
    rows.push({ who: peer.name, medianS, note: `${peer.steps} steps, ${off(peer.endS)}` });
  });
  const spice = timeNgspice();
  if (spice !== null)
    rows.push({
      who: 'ngspice, steps of 1 s',
      medianS: spice.medianS,
      note: spice.endS === null ? '' : off(spice.endS),
    });
  const times = (other: number) => `${(other / oursS).toFixed(1)} times ours`;
  const remarks = rows.slice(1).map((row) => `${row.who}: ${times(row.medianS)}`);
  remarks.push(...(await studyRemarks(setup, oursS)));
  const missing = [
    ...(python === null ? ['SciPy (apt-get install python3-scipy)'] : []),
    ...(spice === null ? ['ngspice (apt-get install ngspice)'] : []),
  ];
  return {
    name,
    title,
    rows,
    ratio: python === null ? null : rows[1].medianS / oursS,
    against: `${rows[1]?.who ?? 'SciPy'}; one unit is one complete charge`,
    ...(missing.length > 0 ? { missing: missing.join(', ') } : {}),
    remarks,
  };
}

/** What the larger questions cost, in charges and seconds. */
async function studyRemarks(setup: ChargeSetup, chargeS: number): Promise<string[]> {
  const options = {
    oneC: 2.4,
    targetSoc: 0.8,
    minRateC: 0.05,
    maxRateC: null,
    limits: { maxTemperatureC: 33, minSocAtVoltageLimit: null },
    tradeOffPoints: 0,
    life: null,
  };
  const seconds = await time(() => searchRate(setup, options), 9, 9);
  const search = searchRate(setup, options);
  const searchS = median(seconds);
  const one = {
    capacityRelative: 0.01,
    r0Relative: 0.03,
    branchRelative: 0.03,
    r0BranchCorrelation: 0,
    ocvV: 0.001,
    startSoc: 0.01,
  };
  const uncertainty = { ...one, startTemperatureK: 1, heatCapacityRelative: 0.05, heatTransferRelative: 0.1 };
  const start = performance.now();
  monteCarlo(setup, [uncertainty, uncertainty], { draws: 1000, level: 0.95, random: seededRandom(1) });
  const spreadS = (performance.now() - start) / 1000;
  return [
    `rate search: ${search.simulations} charges, the time of ${(searchS / chargeS).toFixed(0)} charges`,
    `1,000 Monte Carlo charges: ${spreadS.toFixed(2)} s`,
  ];
}

const bench: Bench = { name: 'charge', run };
export default bench;
