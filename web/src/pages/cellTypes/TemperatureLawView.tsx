import { Button } from '@mantine/core';
import type { CellTypeTemperature, TemperatureLaw } from '../../../../server/contract/temperature.ts';
import { api } from '../../api/ApiClient.ts';
import { useAction } from '../../api/useAction.ts';
import { useRequest } from '../../api/useRequest.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import type { Picture } from '../../charts/picture.ts';
import { significant, withUncertainty } from '../../format/number.ts';
import { quantityWithUncertainty } from '../../format/quantity.ts';
import { instant } from '../../format/time.ts';
import { Problem } from '../../parts/Problem.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { displayUnit, type UnitChoice } from '../../settings/units.ts';
import { useUnits } from '../../settings/useUnits.ts';
import { quantityTitle } from '../../words/quantities.ts';

/** How the resistances of a cell type depend on temperature, over all its cells, and the button that assesses it. */
export function TemperatureLawView({ cellTypeId }: { cellTypeId: string }) {
  const path = `/cell-types/${cellTypeId}/temperature`;
  const { data, error, again } = useRequest<CellTypeTemperature | null>(path);
  const assess = useAction(() => api.request('POST', path), [path]);
  return (
    <section aria-label="Resistance over temperature">
      <h2>Resistance over temperature</h2>
      <Problem error={error ?? assess.error} again={again} />
      {data === null && <p>Not assessed: this needs resistances measured at several temperatures.</p>}
      {data !== undefined && data !== null && <Laws found={data} />}
      {data !== undefined && (
        <Button
          size="compact-sm"
          variant="default"
          loading={assess.running}
          onClick={() => assess.run(undefined)}
        >
          {data === null ? 'Assess it' : 'Assess it again'}
        </Button>
      )}
    </section>
  );
}

function Laws({ found: { dependence, fit } }: { found: CellTypeTemperature }) {
  const [units] = useUnits();
  if (dependence.laws.length === 0) {
    return <p>All resistances were measured at about one temperature, so there is no dependence to see.</p>;
  }
  return (
    <>
      <p>
        R(T) = R at the reference · exp[(Ea/R)(1/T − 1/T of the reference)]. Assessed {instant(fit.createdAt)}
        , by {fit.createdBy}.
      </p>
      <ChartFigure
        picture={lawsPicture(dependence.laws, units)}
        height={340}
        {...(dependence.laws.length > drawn
          ? { note: `The first ${drawn} are drawn; the table has all.` }
          : {})}
      />
      <Sheet
        label="Laws"
        head={[
          'Resistance',
          'At the reference',
          'Reference, °C',
          'Ea, kJ/mol',
          'Measured, °C',
          'Cells',
          'Remark',
        ]}
        numeric={[1, 2, 3, 4, 5]}
        rows={dependence.laws.map((law) => [
          quantityTitle(law),
          quantityWithUncertainty(law.referenceOhm, law.referenceStandardErrorOhm, 'Ohm', units),
          significant(law.referenceC, 3),
          law.activationStandardErrorJPerMol === null
            ? significant(law.activationJPerMol / 1000, 3)
            : withUncertainty(law.activationJPerMol / 1000, law.activationStandardErrorJPerMol / 1000),
          `${significant(law.lowestC, 3)} to ${significant(law.highestC, 3)}`,
          law.cells,
          remark(law),
        ])}
      />
    </>
  );
}

function remark(law: TemperatureLaw): string {
  return [
    law.basis === 'different-cells'
      ? 'No cell was measured at several temperatures: differences between cells count as temperature.'
      : '',
    law.fallsThroughout ? '' : 'The resistance does not fall all the way: the law describes it badly.',
    law.referenceExtrapolated ? 'The reference lies outside the measured range.' : '',
  ]
    .filter((t) => t !== '')
    .join(' ');
}

const shapes = ['circle', 'square', 'triangle', 'diamond', 'cross', 'plus'] as const;
/** Each resistance that is drawn has a shape of its own. */
const drawn = shapes.length;

/** Means at each temperature as points, the law there as a line; one ink and shape for each resistance. */
export function lawsPicture(laws: readonly TemperatureLaw[], units: UnitChoice): Picture {
  const { factor, symbol } = displayUnit('Ohm', units);
  return {
    title: 'Resistance over temperature',
    x: { label: 'Temperature', unit: '°C' },
    y: { label: 'Resistance', unit: symbol, scale: 'logarithmic' },
    series: laws.slice(0, drawn).flatMap((law, i) => {
      const line = (pick: (p: TemperatureLaw['points'][number]) => number) =>
        law.points.map((p) => ({ x: p.temperatureC, y: pick(p) * factor }));
      return [
        {
          name: quantityTitle(law),
          points: line((p) => p.meanOhm),
          draw: 'points',
          ink: i,
          shape: shapes[i],
        },
        {
          name: `${quantityTitle(law)}, law`,
          points: line((p) => p.fittedOhm),
          draw: 'line',
          ink: i,
          shape: 'none',
          dash: 'dashed',
          quiet: true,
        },
      ] as const;
    }),
  };
}
