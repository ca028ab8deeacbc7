import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { CompiledCell } from '../../fitting/charging/cellModel.ts';
import { simulateCharge } from '../../fitting/charging/simulateCharge.ts';
import { seededRandom } from '../../fitting/statistics/random.ts';
import { charged, row, setupOf } from '../fitting/charging/builders.ts';
import { findPython, runPython } from '../support/python.ts';
import { isMissing } from '../support/required.ts';

const python = findPython('scipy');
const STACKS = 50;
const SAMPLE_S = 97;

interface RandomCell {
  capacityAh: number;
  soc: number[];
  temperatureC: number[];
  ocv: number[];
  r0: number[];
  branches: { r: number[]; tau: number[] }[];
  activation: number;
  entropic: number[];
  heatCapacity: number;
  transfer: number;
  startSoc: number;
  startTemperatureC: number;
  limit: number;
}

/** A cell with tables over SOC and, every other time, over temperature; else with an Arrhenius factor. */
function randomCell(random: () => number, ambient: number): RandomCell {
  const between = (low: number, high: number) => low + (high - low) * random();
  const soc = [0, 0.08, 0.2, 0.37, 0.5, 0.66, 0.8, 0.92, 1];
  const temperatureC = random() < 0.5 ? [-10, 10, 25, 45] : [25];
  const over = (value: (z: number, t: number) => number) =>
    soc.flatMap((z) => temperatureC.map((t) => value(z, t)));
  const r0 = between(0.015, 0.06);
  const warm = between(0.004, 0.02);
  const branches = Array.from({ length: 1 + Math.floor(2 * random()) }, (_, j) => {
    const [r, tau] = [between(0.005, 0.02), j === 0 ? between(1, 20) : between(40, 400)];
    return {
      r: over((z, t) => r * (1 + 0.4 * (1 - z) ** 2) * Math.exp(-warm * (t - 25))),
      tau: over((z) => tau * (1 + 0.5 * z)),
    };
  });
  const dudt = between(-2e-4, 2e-4);
  return {
    capacityAh: between(1.5, 5),
    soc,
    temperatureC,
    ocv: over((z) => 3.35 + 0.55 * z + 0.28 * z ** 3 - 0.25 * Math.exp(-18 * z) + 0.01 * random()),
    r0: over((z, t) => r0 * (1 + 0.3 * Math.exp(-8 * z)) * Math.exp(-warm * (t - 25))),
    branches,
    activation: temperatureC.length === 1 ? between(10e3, 35e3) : 0,
    entropic: over((z) => dudt * (1 - 2 * z)),
    heatCapacity: between(30, 90),
    transfer: between(0.02, 0.15),
    startSoc: between(0.03, 0.3),
    startTemperatureC: ambient + between(-3, 3),
    limit: between(4.08, 4.2),
  };
}

function randomStack(random: () => number) {
  const ambient = 5 + 30 * random();
  const cells = Array.from({ length: 1 + Math.floor(3 * random()) }, () => randomCell(random, ambient));
  const smallest = Math.min(...cells.map((cell) => cell.capacityAh));
  const rate = 0.6 + 1.6 * random();
  const stages =
    random() < 0.5
      ? [{ currentA: rate * smallest, untilSoc: 1 }]
      : [
          { currentA: rate * smallest, untilSoc: 0.4 },
          { currentA: 0.6 * rate * smallest, untilSoc: 1 },
        ];
  return { ambient, cells, stages, endCurrentA: 0.06 * smallest };
}

function ours(stack: ReturnType<typeof randomStack>) {
  const cells = stack.cells.map((cell) =>
    charged(
      new CompiledCell({
        capacityAh: cell.capacityAh,
        soc: row(...cell.soc),
        temperatureC: row(...cell.temperatureC),
        ocv: { kind: 'table', values: row(...cell.ocv), interpolation: 'linear' },
        r0Ohm: row(...cell.r0),
        branches: cell.branches.map(({ r, tau }) => ({ rOhm: row(...r), tauS: row(...tau) })),
        arrhenius:
          cell.activation === 0
            ? null
            : { activationEnergyJPerMol: cell.activation, referenceTemperatureC: 25, branchesToo: false },
        entropicVPerK: row(...cell.entropic),
        thermal: { heatCapacityJPerK: cell.heatCapacity, heatTransferWPerK: cell.transfer },
      }),
      cell.startSoc,
      { startTemperatureC: cell.startTemperatureC, voltageLimitV: cell.limit, datasheetVoltageV: cell.limit },
    ),
  );
  return simulateCharge(
    setupOf(cells, {
      ambientTemperatureC: stack.ambient,
      stages: stack.stages.map(({ currentA, untilSoc }) => ({
        currentA,
        until: { soc: untilSoc, cellVoltageV: null, temperatureC: null, durationS: null },
      })),
      endCurrentA: stack.endCurrentA,
      seriesStepS: SAMPLE_S,
    }),
  );
}

describe.skipIf(isMissing('SciPy', python !== null, 'apt-get install python3-scipy'))(
  'random stacks against SciPy',
  () => {
    it(`${STACKS} stacks of one to three cells: every state within 1e-4 of solve_ivp at rtol 1e-10`, {
      timeout: 120_000,
    }, () => {
      const random = seededRandom(20251);
      const stacks = Array.from({ length: STACKS }, () => randomStack(random));
      const charges = stacks.map(ours);
      const program = readFileSync(
        new URL('../fitting/charging/referenceStacks.py', import.meta.url),
        'utf8',
      );
      const asked = charges.map((charge) => charge.series?.timeS.slice(1, -1) ?? []);
      const input = { rtol: 1e-10, stacks: stacks.map((stack, s) => ({ ...stack, times: asked[s] })) };
      const references = runPython(python ?? '', program, input) as {
        endTimeS: number;
        states: number[][];
      }[];
      let worst = 0;
      let compared = 0;
      references.forEach((reference, s) => {
        const charge = charges[s];
        expect(charge.endReason).toBe('end-current');
        expect(Math.abs(charge.endTimeS - reference.endTimeS), `end time of stack ${s}`).toBeLessThan(0.01);
        expect(reference.states).toHaveLength(asked[s].length);
        reference.states.forEach((state, r) => {
          const mine = (charge.series?.cells ?? []).flatMap((cell) => [
            cell.soc[r + 1],
            cell.temperatureC[r + 1],
            ...cell.branchV.map((column) => column[r + 1]),
          ]);
          state.forEach((value, at) => {
            worst = Math.max(worst, Math.abs(mine[at] - value) / Math.abs(value));
            compared += 1;
          });
        });
        expect(Math.abs(charge.energy.balanceErrorRelative ?? 1)).toBeLessThan(1e-9);
        expect(Math.abs(charge.energy.thermalBalanceErrorRelative ?? 1)).toBeLessThan(1e-9);
      });
      expect(compared).toBeGreaterThan(10_000);
      expect(worst).toBeLessThan(1e-4);
      console.info(`largest relative difference of ${compared} states: ${worst.toExponential(2)}`);
    });
  },
);
