import type { StressDependence } from '../../../../server/contract/ageingResult.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import type { Picture } from '../../charts/picture.ts';
import { percent, significant, withUncertainty } from '../../format/number.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { say } from '../../words/i18n.ts';
import { reasonSentence } from '../../words/reasons.ts';

const verdicts = {
  usable: say('ageing.theConditionsExplainLifeWellEnough'),
  weak: say('ageing.theConditionsExplainSomeOfThe'),
  'cannot-tell': say('ageing.theseCellsDoNotShowHow'),
} as const;

/** What temperature, charge rate and throughput have to do with life, and how far that can be trusted. */
export function StressView({ stress }: { stress: StressDependence }) {
  return (
    <>
      <h2>{say('ageing.lifeAgainstConditions')}</h2>
      <p>
        {verdicts[stress.verdict]} {reasonSentence(stress.reason)}
        {stress.explainedVarianceLeftOut !== null && (
          <>
            {' '}
            {say('ageing.withEachCellLeftOutIn', {
              explainedVarianceLeftOut: percent(stress.explainedVarianceLeftOut, 0),
            })}
          </>
        )}
      </p>
      {stress.terms.length > 0 && (
        <Sheet
          label={say('ageing.terms')}
          head={[
            say('ageing.condition'),
            say('ageing.coefficientOfLnLife'),
            say('ageing.triedFrom'),
            'to',
            say('ageing.lifeAtTheUpperAgainstThe'),
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
      : say('ageing.effectLowToEffectHighLevel', {
          effectLow: significant(effect.low, 2),
          effectHigh: significant(effect.high, 2),
          level: percent(effect.level, 0),
        });
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
    title: say('ageing.lifeObservedAgainstLifePredictedWithout'),
    x: { label: say('ageing.predictedLife'), unit: say('ageing.cycles') },
    y: { label: say('ageing.observedLife'), unit: say('ageing.cycles') },
    series: [
      { name: say('ageing.cells'), points, draw: 'points', ink: 0, shape: 'circle' },
      {
        name: say('ageing.equal'),
        points: ends.map((v) => ({ x: v, y: v })),
        draw: 'line',
        ink: 7,
        dash: 'dashed',
        shape: 'none',
      },
    ],
  };
}
