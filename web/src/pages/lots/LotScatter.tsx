import { NativeSelect } from '@mantine/core';
import type { CellRow } from '../../../../server/contract/cells.ts';
import type { LotStatistics } from '../../../../server/contract/lots.ts';
import type { MeasurementColumn } from '../../../../server/contract/measurements.ts';
import { useRequest } from '../../api/useRequest.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { cellScatterPicture } from '../../charts/cellScatter.ts';
import { lineSeries } from '../../charts/lotLine.ts';
import { readNumber } from '../../format/readNumber.ts';
import { Problem } from '../../parts/Problem.tsx';
import { useUrlState } from '../../parts/useUrlState.ts';
import { displayUnit } from '../../settings/units.ts';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { columnTitle } from '../../words/quantities.ts';
import { LotLineView } from './LotLineView.tsx';

interface LotScatterProps {
  readonly rows: readonly CellRow[];
  readonly measured: readonly MeasurementColumn[];
  readonly statistics: LotStatistics;
  readonly chosen: ReadonlySet<string>;
}

/** Any measured column against any other; at first capacity against the first resistance. */
export function LotScatter({ rows, measured, statistics, chosen }: LotScatterProps) {
  const [units] = useUnits();
  const capacity = measured.find((c) => c.quantity === 'capacity') ?? measured[0];
  const resistance =
    measured.find((c) => c !== capacity && displayUnit(c.unit, units).symbol.endsWith('Ω')) ?? measured[1];
  const [xKey, setX] = useUrlState('x', capacity?.key ?? '');
  const [yKey, setY] = useUrlState('y', resistance?.key ?? '');
  const x = measured.find((c) => c.key === xKey) ?? capacity;
  const y = measured.find((c) => c.key === yKey) ?? resistance;
  const [at, setAt] = useUrlState('at');
  const wanted = readNumber(at).value;
  const line = useRequest(
    '/lots/{id}/line',
    {
      params: { id: statistics.lotId },
      query: {
        x: x?.key ?? '',
        y: y?.key ?? '',
        at: wanted === null || y === undefined ? undefined : wanted / displayUnit(y.unit, units).factor,
      },
    },
    { when: x !== undefined && y !== undefined && x !== y },
  );
  if (x === undefined || y === undefined || x === y) return null;
  const out = new Set(statistics.columns.flatMap((c) => c.outliers.map((o) => o.cellId)));
  const xUnit = displayUnit(x.unit, units);
  const yUnit = displayUnit(y.unit, units);
  const cells = rows.flatMap((row) => {
    const xValue = row.values[x.key]?.value;
    const yValue = row.values[y.key]?.value;
    if (typeof xValue !== 'number' || typeof yValue !== 'number') return [];
    return [
      {
        name: row.serial,
        x: xValue * xUnit.factor,
        y: yValue * yUnit.factor,
        outlier: out.has(row.id),
        chosen: chosen.has(String(row.id)),
      },
    ];
  });
  const options = measured.map((c) => ({ value: c.key, label: columnTitle(c) }));
  return (
    <>
      <h2>{say('lots.oneQuantityAgainstAnother')}</h2>
      <div className="sheet-tools">
        <NativeSelect
          size="xs"
          label={say('lots.xAxis')}
          data={options}
          value={x.key}
          onChange={(e) => setX(e.currentTarget.value)}
        />
        <NativeSelect
          size="xs"
          label={say('lots.yAxis')}
          data={options}
          value={y.key}
          onChange={(e) => setY(e.currentTarget.value)}
        />
      </div>
      {cells.length === 0 && <p>{say('lots.noCellOfThisLotHas')}</p>}
      {cells.length > 0 && (
        <ChartFigure
          picture={cellScatterPicture(
            say('lots.yAgainstX', { y: columnTitle(y), x: columnTitle(x) }),
            { label: columnTitle(x), unit: xUnit.symbol },
            { label: columnTitle(y), unit: yUnit.symbol },
            cells,
            [],
            line.data === undefined ? [] : lineSeries(line.data, xUnit.factor, yUnit.factor),
          )}
          height={380}
        />
      )}
      {line.error !== null && <Problem error={line.error} again={line.again} />}
      {cells.length > 0 && line.data !== undefined && <LotLineView line={line.data} at={at} setAt={setAt} />}
    </>
  );
}
