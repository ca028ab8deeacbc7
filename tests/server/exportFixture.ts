import {
  type CellParameters,
  type CircuitRow,
  PARAMETER_SET_SCHEMA,
  type ParameterSet,
  type ParameterValue,
  type UcumUnit,
} from '../../server/contract/parameterSet.ts';

/** A name with everything that breaks formats: comma, quotes, slashes, line breaks, comment ends, other alphabets. */
export const hostileName = 'Zelle "α,β"/\\7 */ ??/\r\nzweite Zeile;=1+1 €\u{1F50B}';

export function value(
  number: number,
  unit: UcumUnit,
  standardUncertainty: number | null = null,
): ParameterValue {
  return {
    value: number,
    unit,
    standardUncertainty,
    reason: standardUncertainty === null ? 'no-uncertainty' : null,
  };
}

const soc = [0.05, 0.1, 0.3, 0.5, 0.7, 0.9, 1];
const ocv = [3.32, 3.45, 3.62, 3.705, 3.86, 4.06, 4.175];

/** A row of a circuit table with two branches whose values fall towards full, as in a measured cell. */
export function circuitRow(z: number, scale: number, ocvV: number): CircuitRow {
  const steep = 1 + 0.8 * Math.exp(-z / 0.08);
  return {
    soc: z,
    currentA: 2.2,
    ocv: value(ocvV, 'V', 0.0004),
    r0: value(0.0213 * scale * (1.1 - 0.15 * z), 'Ohm', 0.00006),
    branches: [
      { r: value(0.0071 * scale * steep, 'Ohm', 0.0001), tau: value(1.7 + 0.6 * z, 's', 0.05) },
      { r: value(0.0123 * scale * steep, 'Ohm', 0.0002), tau: value(38 + 20 * z, 's', 1.4) },
    ],
    covariance: {
      names: ['r0', 'r1', 'tau1'],
      units: ['Ohm', 'Ohm', 's'],
      matrix: [
        [3.6e-9, -2e-9, 1e-7],
        [-2e-9, 1e-8, 2e-7],
        [1e-7, 2e-7, 2.5e-3],
      ],
    },
  };
}

/** A cell with one circuit table of charge pulses, an open-circuit curve, measurements and an ageing model. */
export function cellFixture(id: number, serial: string, capacityAh: number, scale: number): CellParameters {
  return {
    id,
    serial,
    leftOut: [],
    state: 'available',
    stateReason: null,
    lot: { id: 3, name: 'Los "A", Teil 1/2' },
    capacity: value(capacityAh, 'A.h', 0.002),
    measurements: [
      {
        id: 10 * id,
        quantity: 'capacity',
        result: value(capacityAh, 'A.h', 0.002),
        condition: {
          soc: null,
          temperatureC: 25.1,
          direction: 'discharge',
          durationS: null,
          currentA: -0.44,
        },
        cycle: 1,
        efc: 0.5,
        method: 'IEC 61960-3, 7.3.1',
        excludedReason: null,
        measuredAt: '2026-02-03T08:00:00.000Z',
        testId: 100 + id,
        fitId: 200 + id,
        fileId: 300 + id,
        fileRow: 17,
      },
      {
        id: 10 * id + 1,
        quantity: 'drift',
        result: { value: null, unit: 'mV/d', standardUncertainty: null, reason: 'record-too-short' },
        condition: { soc: 0.5, temperatureC: null, direction: null, durationS: null, currentA: null },
        cycle: null,
        efc: null,
        method: 'slope of the rest, "late part"',
        excludedReason: null,
        measuredAt: null,
        testId: null,
        fitId: null,
        fileId: null,
        fileRow: null,
      },
    ],
    openCircuit: {
      source: 'rests',
      temperatureC: 25,
      rows: soc.map((z, i) => ({ soc: z, ocv: value(ocv[i], 'V', 0.0003) })),
      fitId: 200 + id,
      testId: 100 + id,
    },
    circuits: [
      {
        direction: 'charge',
        temperatureC: 25,
        rows: soc.slice(0, -1).map((z, i) => circuitRow(z, scale, ocv[i])),
        validity: {
          socMin: 0.05,
          socMax: 0.9,
          temperatureMinC: 24.6,
          temperatureMaxC: 25.7,
          currentMaxA: 2.2,
          durationMaxS: 30,
        },
        fitId: 200 + id,
        testId: 100 + id,
      },
    ],
    ageing: [
      {
        quantity: 'capacity',
        axis: 'cycle',
        model: 'linear',
        parameters: [
          { name: 'initial', unit: 'A.h', value: capacityAh, standardUncertainty: 0.001, reason: null },
          {
            name: 'slope',
            unit: 'A.h/{cycle}',
            value: -0.0004,
            standardUncertainty: null,
            reason: 'at-bound',
          },
        ],
        limits: [
          {
            name: '80 % of rated',
            threshold: 0.8 * capacityAh,
            crossedAt: null,
            forecast: 812.5,
            low: 700,
            high: 950,
            level: 0.95,
            reason: null,
          },
        ],
        fitId: 200 + id,
      },
    ],
  };
}

/** A parameter set of two cells in series that differ in capacity and resistance. */
export function stackFixture(): ParameterSet {
  const cells = [cellFixture(1, hostileName, 2.14, 1.08), cellFixture(2, 'B-002', 2.21, 1)];
  return {
    schema: PARAMETER_SET_SCHEMA,
    schemaVersion: 1,
    kind: 'stack',
    subject: { id: 7, name: 'Stapel 7, "links/rechts"' },
    cellType: {
      id: 5,
      name: 'Type P, 2.2 Ah',
      maker: 'Nobody & Söhne',
      chemistry: 'NMC',
      ratedCapacity: value(2.2, 'A.h'),
      limits: {
        chargeVoltage: value(4.2, 'V'),
        dischargeCutoff: value(2.75, 'V'),
        chargeCurrent: value(4.4, 'A'),
        chargeTemperatureMin: value(0, 'Cel'),
        chargeTemperatureMax: value(45, 'Cel'),
        commonPractice: ['chargeTemperatureMin'],
      },
      heatCapacity: value(41, 'J/K'),
      heatTransfer: value(0.08, 'W/K'),
      mass: value(43.5, 'g'),
    },
    cells,
    stack: { id: 7, name: 'Stapel 7, "links/rechts"', state: 'built', cellIds: [1, 2] },
    pairs: [
      {
        id: 4,
        pairingId: 2,
        position: 1,
        state: 'built',
        cellIds: [1, 2],
        cost: 1.25,
        differences: [
          {
            feature: 'capacity',
            unit: 'A.h',
            difference: 0.07,
            standardUncertainty: 0.003,
            inTolerances: 1.1,
          },
        ],
      },
    ],
    spread: [
      {
        key: 'capacity',
        unit: 'A.h',
        n: 2,
        mean: 2.175,
        standardDeviation: 0.05,
        minimum: 2.14,
        maximum: 2.21,
      },
    ],
    cautions: [{ code: 'watch-each-cell', text: "Watch each cell's voltage, never only the stack's." }],
    provenance: {
      software: { name: 'gemel', version: '0.1.0' },
      fits: cells.map((cell) => ({
        id: 200 + cell.id,
        kind: 'pulse',
        testId: 100 + cell.id,
        algorithm: 'pulse-record',
        algorithmVersion: '1.0.0',
        createdAt: '2026-02-03T09:00:00.000Z',
        createdBy: 'operator "ö"',
      })),
      tests: cells.map((cell) => ({
        id: 100 + cell.id,
        cellId: cell.id,
        kind: 'pulse',
        label: 'pulses\r\nat 25 °C',
        startedAt: null,
        temperatureC: 25,
        instrument: 'bench 1',
        fileId: 300 + cell.id,
        firstRow: 1,
        lastRow: 5000,
      })),
      files: cells.map((cell) => ({
        id: 300 + cell.id,
        name: `pulses, "${cell.id}"/a.csv`,
        sha256: String(cell.id).repeat(64),
        importedAt: '2026-02-03T08:30:00.000Z',
        importedBy: 'operator "ö"',
      })),
    },
  };
}

/** The first cell of {@link stackFixture} alone. */
export function oneCellFixture(): ParameterSet {
  const set = stackFixture();
  return {
    ...set,
    kind: 'cell',
    subject: { id: 1, name: hostileName },
    cells: set.cells.slice(0, 1),
    stack: null,
    pairs: [],
    spread: [],
  };
}
