import { NativeSelect } from '@mantine/core';
import { useState } from 'react';
import type { CircuitParameter, CellTables as Tables } from '../../../../server/contract/cellTables.ts';
import { useRequest } from '../../api/useRequest.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import {
  parameterHeatPicture,
  parameterLinesPicture,
  type ShownParameter,
} from '../../charts/parameterTables.ts';
import { Problem } from '../../parts/Problem.tsx';
import { displayUnit } from '../../settings/units.ts';
import { useUnits } from '../../settings/useUnits.ts';
import { reasonSentence } from '../../words/reasons.ts';

const parameters: readonly { name: CircuitParameter; label: string; unit: string }[] = [
  { name: 'r0Ohm', label: 'R0', unit: 'Ohm' },
  { name: 'r1Ohm', label: 'R1', unit: 'Ohm' },
  { name: 'tau1S', label: 'tau1', unit: 's' },
  { name: 'r2Ohm', label: 'R2', unit: 'Ohm' },
  { name: 'tau2S', label: 'tau2', unit: 's' },
  { name: 'r3Ohm', label: 'R3', unit: 'Ohm' },
  { name: 'tau3S', label: 'tau3', unit: 's' },
  { name: 'ocvV', label: 'OCV', unit: 'V' },
];

/** The circuit parameters of a cell over SOC and temperature, as lines and as a heat map. */
export function CellTables({ cellId }: { readonly cellId: number }) {
  const { data, error, again } = useRequest<Tables>(`/cells/${cellId}/tables`);
  if (error !== null) return <Problem error={error} again={again} />;
  if (data === undefined) return null;
  return (
    <>
      <h2>Over SOC and temperature</h2>
      {data.reason === null ? <Drawn data={data} /> : <p>No tables: {reasonSentence(data.reason)}</p>}
    </>
  );
}

function Drawn({ data }: { readonly data: Tables }) {
  const [units] = useUnits();
  const [direction, setDirection] = useState(data.tables[0].direction);
  const [parameter, setParameter] = useState<CircuitParameter>('r0Ohm');
  const table = data.tables.find((one) => one.direction === direction) ?? data.tables[0];
  const present = parameters.filter(({ name }) => table.rows.some((row) => row.values[name].value !== null));
  const chosen = present.find(({ name }) => name === parameter) ?? present[0];
  const shown: ShownParameter = {
    parameter: chosen.name,
    label: chosen.label,
    ...displayUnit(chosen.unit, units),
  };
  const older = new Set(data.leftOut.map(({ testId }) => testId)).size;
  return (
    <>
      <div className="sheet-tools">
        <NativeSelect
          label="Parameter"
          size="xs"
          data={present.map(({ name, label }) => ({ value: name, label }))}
          value={chosen.name}
          onChange={(e) =>
            setParameter(present.find(({ name }) => name === e.currentTarget.value)?.name ?? 'r0Ohm')
          }
        />
        <NativeSelect
          label="Direction"
          size="xs"
          data={data.tables.map((one) => one.direction)}
          value={table.direction}
          onChange={(e) => setDirection(e.currentTarget.value === 'charge' ? 'charge' : 'discharge')}
        />
      </div>
      <div className="charts">
        <ChartFigure
          picture={parameterLinesPicture(table, shown)}
          note="Dotted: outside what was measured, the nearest measured value is held; nothing is extrapolated."
        />
        {table.measuredTemperatureC.length > 1 && (
          <ChartFigure
            picture={parameterHeatPicture(table, shown)}
            note="Empty fields: outside what was measured."
          />
        )}
      </div>
      {table.measuredTemperatureC.length === 1 && (
        <p>Measured at one temperature only: a heat map needs tests at two or more.</p>
      )}
      {older > 0 && (
        <p>
          {older === 1 ? 'One evaluated test is' : `${older} evaluated tests are`} left out: a newer one is at
          the same temperature, or none is stated.
        </p>
      )}
    </>
  );
}
