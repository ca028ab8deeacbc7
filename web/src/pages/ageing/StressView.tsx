import type { StressDependence } from '../../../../server/contract/ageingResult.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import type { Picture } from '../../charts/picture.ts';
import { percent, significant, withUncertainty } from '../../format/number.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { reasonSentence } from '../../words/reasons.ts';

const verdicts = {
  usable:
    'The conditions explain life well enough to be used for planning, inside the range they were tried in.',
  weak: 'The conditions explain some of the differences in life; take it as a hint, not as a plan.',
  'cannot-tell': 'These cells do not show how the conditions affect life.',
} as const;

/** What temperature, charge rate and throughput have to do with life, and how far that can be trusted. */
export function StressView({ stress }: { stress: StressDependence }) {
  return (
    <>
      <h2>Life against conditions</h2>
      <p>
        {verdicts[stress.verdict]} {reasonSentence(stress.reason)}
        {stress.explainedVarianceLeftOut !== null && (
          <>
            {' '}
            With each cell left out in turn, the conditions explain{' '}
            {percent(stress.explainedVarianceLeftOut, 0)} of the variance of the logarithm of life.
          </>
        )}
      </p>
      {stress.terms.length > 0 && (
        <Sheet
          label="Terms"
          head={[
            'Condition',
            'Coefficient of ln(life)',
            'Tried from',
            'to',
            'Life at the upper against the lower end',
          ]}
          numeric={[1, 2, 3, 4]}
          rows={stress.terms.map((t) => [
            t.unit === '' ? t.name : `${t.name}, ${t.unit}`,
            t.coefficient === null
              ? '–'
              : t.standardError === null
                ? significant(t.coefficient, 3)
                : withUncertainty(t.coefficient, t.standardError),
            significant(t.validFrom, 3),
            significant(t.validTo, 3),
            effectText(t.effect),
          ])}
        />
      )}
      {stress.cells.some((c) => c.predictedLeftOut !== null) && (
        <ChartFigure picture={leftOutPicture(stress)} height={340} />
      )}
    </>
  );
}

/** `× 0.62 (0.5 to 0.77, 80 %)`: what a condition costs in life over the range it was tried in. */
function effectText(effect: StressDependence['terms'][number]['effect']): string {
  if (effect === null || effect === undefined || effect.factor === null) return '–';
  const interval =
    effect.low === null || effect.high === null
      ? ''
      : ` (${significant(effect.low, 2)} to ${significant(effect.high, 2)}, ${percent(effect.level, 0)})`;
  return `× ${significant(effect.factor, 2)}${interval}`;
}

/** Observed life against the life predicted with that cell left out; on the line, the prediction is right. */
export function leftOutPicture(stress: StressDependence): Picture {
  const points = stress.cells.flatMap((c) =>
    c.predictedLeftOut === null ? [] : [{ x: c.predictedLeftOut, y: c.life, name: c.cell }],
  );
  const all = points.flatMap((p) => [p.x, p.y]);
  const ends = all.length === 0 ? [] : [Math.min(...all), Math.max(...all)];
  return {
    title: 'Life observed against life predicted without the cell',
    x: { label: 'Predicted life', unit: 'cycles' },
    y: { label: 'Observed life', unit: 'cycles' },
    series: [
      { name: 'Cells', points, draw: 'points', ink: 0, shape: 'circle' },
      {
        name: 'Equal',
        points: ends.map((v) => ({ x: v, y: v })),
        draw: 'line',
        ink: 7,
        dash: 'dashed',
        shape: 'none',
      },
    ],
  };
}
