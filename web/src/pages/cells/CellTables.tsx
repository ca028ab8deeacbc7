import { NativeSelect } from '@mantine/core';
import { useState } from 'react';
import { Link } from 'react-router';
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
import { say } from '../../words/i18n.ts';
import { plainCode, reasonSentence } from '../../words/reasons.ts';

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
export function CellTables({ cellId, cellTypeId }: { readonly cellId: number; readonly cellTypeId: number }) {
  const { data, error, again } = useRequest('/cells/{id}/tables', { params: { id: cellId } });
  if (error !== null) return <Problem error={error} again={again} />;
  if (data === undefined) return null;
  return (
    <>
      <h2>{say('cells.overSocAndTemperature')}</h2>
      {data.reason === null ? (
        <Drawn data={data} />
      ) : (
        <p>{say('cells.noTablesReason', { reason: reasonSentence(data.reason) })}</p>
      )}
      <p>
        <Link to={`/cell-types?rates=type+${cellTypeId}`}>{say('cells.howTheResistancesOfThisCell')}</Link>
      </p>
    </>
  );
}

function Drawn({ data }: { readonly data: Tables }) {
  const [units] = useUnits();
  // Discharge is tested at more temperatures as a rule, because a cold cell must not be charged.
  const [direction, setDirection] = useState(
    () =>
      data.tables.reduce((best, one) =>
        one.measuredTemperatureC.length > best.measuredTemperatureC.length ? one : best,
      ).direction,
  );
  const [parameter, setParameter] = useState<CircuitParameter>('r0Ohm');
  const table = data.tables.find((one) => one.direction === direction) ?? data.tables[0];
  const present = parameters.filter(({ name }) => table.measured.some((one) => one.values[name] !== null));
  const chosen = present.find(({ name }) => name === parameter) ?? present[0];
  const shown: ShownParameter = {
    parameter: chosen.name,
    label: chosen.label,
    ...displayUnit(chosen.unit, units),
  };
  const leftOut = (reason: Tables['leftOut'][number]['reason']): number =>
    new Set(data.leftOut.filter((one) => one.reason === reason).map(({ testId }) => testId)).size;
  const sentences = [
    leftOutSentence(leftOut('newer-test'), say('cells.becauseANewerOneIsAt')),
    leftOutSentence(leftOut('fewer-states'), say('cells.becauseAnotherAtTheSameTemperature')),
    leftOutSentence(leftOut('temperature-not-stated'), say('cells.becauseNoTemperatureIsStated')),
  ].filter((sentence) => sentence !== null);
  return (
    <>
      <div className="sheet-tools">
        <NativeSelect
          label={say('cells.parameter')}
          size="xs"
          data={present.map(({ name, label }) => ({ value: name, label }))}
          value={chosen.name}
          onChange={(e) =>
            setParameter(present.find(({ name }) => name === e.currentTarget.value)?.name ?? 'r0Ohm')
          }
        />
        <NativeSelect
          label={say('cells.direction')}
          size="xs"
          data={data.tables.map((one) => ({ value: one.direction, label: plainCode(one.direction) }))}
          value={table.direction}
          onChange={(e) => setDirection(e.currentTarget.value === 'charge' ? 'charge' : 'discharge')}
        />
      </div>
      <div className="charts">
        <ChartFigure
          picture={parameterLinesPicture(table, shown)}
          note={say('cells.pointsMeasuredBetweenThemStraightLines')}
        />
        {table.measuredTemperatureC.length > 1 && (
          <ChartFigure
            picture={parameterHeatPicture(table, shown)}
            note={say('cells.aFieldForEachMeasuredSoc', {
              shownLabel: shown.label,
              shownSymbol:
                shown.symbol === '' ? '' : say('cells.inShownSymbol', { shownSymbol: shown.symbol }),
            })}
          />
        )}
      </div>
      {table.measuredTemperatureC.length === 1 && <p>{say('cells.measuredAtOneTemperatureOnlyA')}</p>}
      {sentences.map((sentence) => (
        <p key={sentence}>{sentence}</p>
      ))}
    </>
  );
}

function leftOutSentence(tests: number, why: string): string | null {
  if (tests === 0) return null;
  return say('cells.testsLeftOutHereWhy', {
    tests: tests === 1 ? say('cells.oneEvaluatedTestIs') : say('cells.testsEvaluatedTestsAre', { tests }),
    why,
  });
}
