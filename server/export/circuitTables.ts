import type { ParameterSet } from '../contract/parameterSet.ts';
import {
  cellId,
  cellKey,
  eachCell,
  field,
  type PackageTable,
  required,
  valueFields,
} from './packageTable.ts';

export function tablesOverSocTable(set: ParameterSet): PackageTable {
  const branch = (j: number) => [
    field(`r${j}_Ohm`, 'number', `Resistance of branch ${j}`, 'Ohm'),
    field(`r${j}_standard_uncertainty_Ohm`, 'number', `Standard uncertainty of r${j}`, 'Ohm'),
    field(`tau${j}_s`, 'number', `Time constant of branch ${j}`, 's'),
    field(`tau${j}_standard_uncertainty_s`, 'number', `Standard uncertainty of tau${j}`, 's'),
  ];
  const most = Math.max(
    0,
    ...set.cells.flatMap((cell) => cell.circuits.flatMap((t) => t.rows.map((r) => r.branches.length))),
  );
  return {
    name: 'tables-over-soc',
    title: 'Circuit model over state of charge',
    description: 'OCV + R0 + branches of R and C in parallel; tau = R C. One row for each fitted pulse.',
    foreignKeys: cellKey,
    fields: [
      cellId,
      {
        ...field('direction', 'string', 'Direction of the pulse'),
        constraints: { enum: ['charge', 'discharge'] },
      },
      field('temperature_C', 'number', 'Temperature of the test', 'Cel'),
      { ...field('soc', 'number', 'State of charge before the pulse, 0 to 1', '1'), constraints: required },
      field('current_A', 'number', 'Current of the pulse, positive on charge', 'A'),
      field('ocv_V', 'number', 'Open-circuit voltage', 'V'),
      field('r0_Ohm', 'number', 'Ohmic resistance', 'Ohm'),
      field('r0_standard_uncertainty_Ohm', 'number', 'Standard uncertainty of r0', 'Ohm'),
      ...Array.from({ length: most }, (_, j) => branch(j + 1)).flat(),
      field('fit_id', 'integer', 'Fit it came from'),
      field('test_id', 'integer', 'Test it came from'),
    ],
    rows: eachCell(set, (cell) =>
      cell.circuits.flatMap((table) =>
        table.rows.map((row) => [
          cell.id,
          table.direction,
          table.temperatureC,
          row.soc,
          row.currentA,
          row.ocv.value,
          row.r0.value,
          row.r0.standardUncertainty,
          ...Array.from({ length: most }, (_, j) => {
            const b = row.branches[j];
            return b === undefined
              ? [null, null, null, null]
              : [b.r.value, b.r.standardUncertainty, b.tau.value, b.tau.standardUncertainty];
          }).flat(),
          table.fitId,
          table.testId,
        ]),
      ),
    ),
  };
}

export function openCircuitTable(set: ParameterSet): PackageTable {
  return {
    name: 'open-circuit',
    title: 'Open-circuit voltage over state of charge',
    description: 'One row for each point of the curve.',
    foreignKeys: cellKey,
    fields: [
      cellId,
      field('source', 'string', 'What the curve was made from'),
      { ...field('soc', 'number', 'State of charge, 0 to 1', '1'), constraints: required },
      field('ocv_V', 'number', 'Open-circuit voltage', 'V'),
      field('ocv_standard_uncertainty_V', 'number', 'Standard uncertainty', 'V'),
      field('reason', 'string', 'Why the value or its uncertainty is missing'),
      field('fit_id', 'integer', 'Fit it came from'),
    ],
    rows: eachCell(set, (cell) =>
      (cell.openCircuit?.rows ?? []).map((row) => [
        cell.id,
        cell.openCircuit?.source ?? null,
        row.soc,
        ...valueFields(row.ocv),
        cell.openCircuit?.fitId ?? null,
      ]),
    ),
  };
}
