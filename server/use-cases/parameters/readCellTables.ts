import {
  interpolateTable,
  type ParameterTable,
  SAME_TEMPERATURE_C,
  tabulate,
} from '../../../fitting/circuit/index.ts';
import { mostTellingFirst, type TestedCircuit } from '../../assess/parameters/mostTellingFirst.ts';
import { capacityAtAge, pulseRecordOnScale } from '../../assess/parameters/ownScale.ts';
import type { Context } from '../../context.ts';
import {
  type CellTable,
  type CellTables,
  type CircuitParameter,
  circuitParameter,
} from '../../contract/cellTables.ts';
import type { CircuitRow } from '../../contract/parameterSet.ts';
import { evaluatedPulseRecord } from '../../contract/pulseRecord.ts';
import { notFound } from '../../errors.ts';
import { circuitTablesOf } from '../../export/pulseTables.ts';
import { inOrder } from '../../inOrder.ts';
import { findCell } from '../../store/cells.ts';
import { listCellTestFits } from '../../store/fits.ts';
import { listCellMeasurements } from '../../store/measurements.ts';
import { readStored } from '../../store/storedJson.ts';
import { findTest } from '../../store/tests.ts';

/** The circuit table of one evaluated test at its temperature. */
interface Circuit extends TestedCircuit {
  readonly rows: readonly CircuitRow[];
  readonly temperatureC: number;
  readonly fitId: number;
}

/**
 * The circuit parameters of a cell over SOC and temperature, one table for each direction of current. Of several tests
 * at one temperature one represents it (mostTellingFirst). Nothing is extrapolated; see the flags.
 *
 * @throws Refusal `not-found`: no such cell
 */
export async function readCellTables(
  context: Context,
  cellId: number,
  asked: { socStep: number; temperaturesC?: string },
): Promise<CellTables> {
  if (!(await findCell(context.store, cellId))) throw notFound('cell', cellId);
  const found = await circuitsOf(context, cellId);
  const leftOut: CellTables['leftOut'] = [];
  const tables: CellTable[] = [];
  for (const direction of ['charge', 'discharge'] as const) {
    const chosen: Circuit[] = [];
    for (const circuit of found.filter((one) => one.direction === direction)) {
      const { temperatureC, testId } = circuit;
      if (temperatureC === null) leftOut.push({ testId, direction, reason: 'temperature-not-stated' });
      else {
        const representative = chosen.find(
          (one) => Math.abs(one.temperatureC - temperatureC) <= SAME_TEMPERATURE_C,
        );
        if (representative === undefined) chosen.push({ ...circuit, temperatureC });
        else {
          const fewer =
            representative.testId < testId && (representative.cycle ?? 0) === (circuit.cycle ?? 0);
          leftOut.push({ testId, direction, reason: fewer ? 'fewer-states' : 'newer-test' });
        }
      }
    }
    if (chosen.length > 0) tables.push(tableOf(direction, chosen, asked));
  }
  const reason =
    tables.length > 0 ? null : leftOut.length > 0 ? 'temperature-not-stated' : 'no-fitted-pulses';
  return { cellId, tables, leftOut, reason };
}

/** The circuits of the cell's evaluated pulse tests, those that speak for their temperature first. */
async function circuitsOf(
  context: Context,
  cellId: number,
): Promise<(Omit<Circuit, 'temperatureC'> & { temperatureC: number | null })[]> {
  const measurements = await listCellMeasurements(context.store, cellId);
  return mostTellingFirst(
    (
      await inOrder(await listCellTestFits(context.store, cellId, 'pulse'), async (fit) => {
        const test = fit.testId === null ? null : await findTest(context.store, fit.testId);
        if (test === null) return [];
        const origin = { fitId: fit.id, testId: test.id };
        // A document that cannot be read is named among the cell's parameters; the other tests still count.
        const { data } = readStored(evaluatedPulseRecord, fit.resultJson);
        if (data === null) return [];
        const result = pulseRecordOnScale(data, capacityAtAge(measurements, test.cycle)?.value ?? null);
        return circuitTablesOf(result, { ...origin, temperatureC: test.temperatureC }).map((table) => ({
          ...table,
          ...origin,
          cycle: test.cycle,
        }));
      })
    ).flat(),
  );
}

function tableOf(
  direction: CellTable['direction'],
  circuits: readonly Circuit[],
  { socStep, temperaturesC }: { socStep: number; temperaturesC?: string },
): CellTable {
  const parameters = new Map(
    circuitParameter.options.map((name) => [name, parameterTable(circuits, name)] as const),
  );
  const { soc, temperatureC } = parameterTable(circuits, 'r0Ohm');
  const asked = temperaturesC?.split(',').map(Number) ?? temperatureC;
  const steps = Math.floor(1 / socStep + 1e-9);
  const socs = Array.from({ length: steps + 1 }, (_, i) => Number((i * socStep).toFixed(10)));
  return {
    direction,
    measuredSoc: [...soc],
    measuredTemperatureC: [...temperatureC],
    measured: temperatureC.flatMap((at, j) =>
      soc.map((level, i) => ({
        temperatureC: at,
        soc: level,
        values: Object.fromEntries(
          [...parameters].map(([name, table]) => [name, table.values[i][j]]),
        ) as CellTable['measured'][number]['values'],
      })),
    ),
    origins: circuits.map(({ testId, fitId, temperatureC: at }) => ({ testId, fitId, temperatureC: at })),
    rows: asked.flatMap((at) =>
      socs.map((level) => ({
        temperatureC: at,
        soc: level,
        values: Object.fromEntries(
          [...parameters].map(([name, table]) => [name, interpolateTable(table, level, at)]),
        ) as CellTable['rows'][number]['values'],
      })),
    ),
  };
}

/**
 * One parameter at the measured conditions. All tables of a direction have the same axes: a reading that lacks the
 * parameter enters as not-a-number and comes out as null, so that nobody interpolates across it.
 */
function parameterTable(circuits: readonly Circuit[], name: CircuitParameter): ParameterTable {
  const table = tabulate(
    circuits.flatMap(({ rows, temperatureC }) =>
      rows.map((row) => ({ soc: row.soc, temperatureC, value: parameterOf(row, name) ?? Number.NaN })),
    ),
  );
  return {
    ...table,
    values: table.values.map((row) => row.map((value) => (Number.isNaN(value) ? null : value))),
  };
}

function parameterOf(row: CircuitRow, name: CircuitParameter): number | null {
  const branch = (digit: string) => row.branches[Number(digit) - 1];
  switch (name) {
    case 'ocvV':
      return row.ocv.value;
    case 'r0Ohm':
      return row.r0.value;
    case 'r1Ohm':
    case 'r2Ohm':
    case 'r3Ohm':
      return branch(name[1])?.r.value ?? null;
    case 'tau1S':
    case 'tau2S':
    case 'tau3S':
      return branch(name[3])?.tau.value ?? null;
  }
}
