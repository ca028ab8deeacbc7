import type { ParameterSet } from '../contract/parameterSet.ts';
import { cellId, cellKey, eachCell, field, type PackageTable } from './packageTable.ts';

export function ageingTable(set: ParameterSet): PackageTable {
  return {
    name: 'ageing',
    title: 'Ageing',
    description:
      'Parameters of the ageing model chosen for each cell and quantity, and forecasts of its limits.',
    foreignKeys: cellKey,
    fields: [
      cellId,
      field('quantity', 'string', 'capacity or resistance'),
      field('axis', 'string', 'What life is counted in'),
      field('model', 'string', 'Model chosen by the information criterion'),
      {
        ...field('kind', 'string', 'parameter of the model or limit of life'),
        constraints: { enum: ['parameter', 'limit'] },
      },
      field('name', 'string', 'Name of the parameter or limit'),
      field('unit', 'string', 'Unit of the parameter'),
      field('value', 'number', 'Parameter, or where the limit was or will be crossed'),
      field('low', 'number', 'Lower end of the interval'),
      field('high', 'number', 'Upper end of the interval'),
      field('standard_uncertainty', 'number', 'Standard uncertainty of a parameter'),
      field('reason', 'string', 'Why a value is missing'),
    ],
    rows: eachCell(set, (cell) =>
      cell.ageing.flatMap((entry) => {
        const head = [cell.id, entry.quantity, entry.axis, entry.model];
        return [
          ...entry.parameters.map((p) => [
            ...head,
            'parameter',
            p.name,
            p.unit,
            p.value,
            null,
            null,
            p.standardUncertainty,
            p.reason,
          ]),
          ...entry.limits.map((l) => [
            ...head,
            'limit',
            l.name,
            null,
            l.crossedAt ?? l.forecast,
            l.low,
            l.high,
            null,
            l.reason,
          ]),
        ];
      }),
    ),
  };
}

export function pairsTable(set: ParameterSet): PackageTable {
  return {
    name: 'pairs',
    title: 'Pairs',
    description: 'One row for each pair, or group of more cells in series, and feature it was judged by.',
    fields: [
      field('pair_id', 'integer', 'Identifier of the pair'),
      field('pairing_id', 'integer', 'Identifier of the pairing run'),
      field('state', 'string', 'proposed, accepted, rejected or built'),
      field('cost', 'number', 'Cost of the pair', '1'),
      field('feature', 'string', 'Feature'),
      field('unit', 'string', 'Unit of the difference'),
      field(
        'difference',
        'number',
        'Second cell minus first; of more than two cells the largest value minus the smallest',
      ),
      field('standard_uncertainty', 'number', 'Standard uncertainty of the difference'),
      field('in_tolerances', 'number', 'Size of the difference in tolerances', '1'),
    ],
    rows: set.pairs.flatMap((pair) => {
      const head = [pair.id, pair.pairingId, pair.state, pair.cost];
      if (pair.differences.length === 0) return [[...head, null, null, null, null, null]];
      return pair.differences.map((d) => [
        ...head,
        d.feature,
        d.unit,
        d.difference,
        d.standardUncertainty,
        d.inTolerances,
      ]);
    }),
  };
}

export function pairCellsTable(set: ParameterSet): PackageTable {
  return {
    name: 'pair-cells',
    title: 'Cells of pairs',
    description: 'One row for each cell of a pair or group.',
    fields: [
      field('pair_id', 'integer', 'Identifier of the pair'),
      field('position', 'integer', 'Place in series, from 0'),
      field('cell_id', 'integer', 'Identifier of the cell'),
    ],
    rows: set.pairs.flatMap(({ id, cellIds }) => cellIds.map((cellId, position) => [id, position, cellId])),
  };
}
