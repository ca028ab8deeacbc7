import { useState } from 'react';
import { Link } from 'react-router';
import type { ColumnStatistics } from '../../../../server/contract/lots.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { histogramPicture } from '../../charts/histogram.ts';
import { individualsPicture } from '../../charts/individuals.ts';
import { normalProbabilityPicture } from '../../charts/normalProbability.ts';
import { percent, significant } from '../../format/number.ts';
import { quantity } from '../../format/quantity.ts';
import { Fact, Facts } from '../../parts/Fact.tsx';
import { displayUnit } from '../../settings/units.ts';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { reasonSentence } from '../../words/reasons.ts';
import { ColumnGauge } from './ColumnGauge.tsx';

const verdicts = {
  good: say('lots.theMeasurementTellsTheCellsApart'),
  limited: say('lots.measurementErrorIsCloseToThe'),
  'not-enough': say('lots.theMeasurementCannotTellTheCells'),
  unknown: say('lots.theValuesCarryNoUncertaintySo'),
} as const;

export interface ColumnJudgementProps {
  readonly lotId: number;
  readonly title: string;
  readonly column: ColumnStatistics;
  readonly startsOpen: boolean;
}

/** One measured column of a lot judged: spread, limits, normality, outliers, and whether the fixture is good enough. */
export function ColumnJudgement({ lotId, title, column, startsOpen }: ColumnJudgementProps) {
  const [units] = useUnits();
  const [open, setOpen] = useState(startsOpen);
  const outliers = column.outliers.length;
  return (
    <details className="judgement" open={open} onToggle={(e) => setOpen(e.currentTarget.open)}>
      <summary>
        <strong>{title}</strong>
        {say('lots.medianMedian', { median: quantity(column.median, column.unit, units) })}
        {column.relativeSpread !== null &&
          say('lots.spreadRelativeSpread', { relativeSpread: percent(column.relativeSpread, 2) })}
        {outliers > 0 && (
          <>
            , {outliers} {outliers === 1 ? say('lots.outlier') : say('lots.outliers')}
          </>
        )}
        {column.capability.cpk !== null && <>, Cpk {significant(column.capability.cpk, 3)}</>}
      </summary>
      {open && <Judged lotId={lotId} title={title} column={column} />}
    </details>
  );
}

function Judged({ lotId, title, column }: Omit<ColumnJudgementProps, 'startsOpen'>) {
  const [units] = useUnits();
  return (
    <>
      <Facts>
        <Fact name={say('lots.cells')}>{column.n}</Fact>
        <Fact name={say('lots.mean')}>{quantity(column.mean, column.unit, units)}</Fact>
        <Fact name={say('lots.standardDeviation')}>
          {quantity(column.standardDeviation, column.unit, units, 3)}
        </Fact>
        <Fact name={say('lots.median')}>{quantity(column.median, column.unit, units)}</Fact>
        <Fact name={say('lots.leastToGreatest')}>
          {say('lots.minimumToMaximum', {
            minimum: quantity(column.minimum, column.unit, units),
            maximum: quantity(column.maximum, column.unit, units),
          })}
        </Fact>
      </Facts>
      <JudgementCharts title={title} column={column} />
      {column.mixedCurrents !== null && (
        <p className="warning">
          {say('lots.measuredWithCurrentsFromToThe', {
            leastA: quantity(column.mixedCurrents.leastA, 'A', units),
            greatestA: quantity(column.mixedCurrents.greatestA, 'A', units),
          })}
        </p>
      )}
      {column.mixedCurrents === null && column.currents !== null && (
        <p>{say('lots.measuredAt', { greatestA: quantity(column.currents.greatestA, 'A', units) })}</p>
      )}
      {column.repeated !== null && (
        <p>
          {say('lots.cellsCellsHaveReadingsReadingsHere', {
            cells: column.repeated.cells,
            readings: column.repeated.readings,
          })}
        </p>
      )}
      <p>{capabilitySentence(column)}</p>
      <p>{normalitySentence(column)}</p>
      <p>{toleranceSentence(column, (value) => quantity(value, column.unit, units))}</p>
      <p>{verdicts[column.resolution.verdict]}</p>
      <ColumnGauge lotId={lotId} title={title} column={column.key} />
      {column.outliers.length > 0 && (
        <p className="warning">
          {column.outliers.length === 1
            ? say('lots.oneOutlier')
            : say('lots.outliersOutliers', { outliers: column.outliers.length })}
          {column.outliers.map((o, i) => (
            <span key={o.cellId}>
              {i > 0 && ', '}
              <Link to={`/cells/${o.cellId}`}>{o.serial}</Link>{' '}
              {say('lots.valueScoreRobustStandardDeviations', {
                value: quantity(o.value, column.unit, units),
                score: significant(o.score, 2),
              })}
            </span>
          ))}
        </p>
      )}
      {column.grubbs.reason === null && (
        <p>
          {say('lots.grubbsTestAtAlphaFindsOutliers', {
            alpha: 100 * column.grubbs.alpha,
            outliers:
              column.grubbs.outliers.length === 0
                ? say('lots.noOutlier')
                : `${column.grubbs.outliers.map((o) => o.serial).join(', ')}.`,
          })}
        </p>
      )}
    </>
  );
}

function JudgementCharts({ title, column }: Pick<ColumnJudgementProps, 'title' | 'column'>) {
  const [units] = useUnits();
  const shown = displayUnit(column.unit, units);
  const scaled = (value: number | null) => (value === null ? null : value * shown.factor);
  const out = new Set(column.outliers.map((o) => o.cellId));
  const values = column.normalPlot.map((p) => ({
    name: p.serial,
    value: p.value * shown.factor,
    score: p.expected,
    outlier: out.has(p.cellId),
  }));
  return (
    <div className="charts">
      {column.histogram !== null && (
        <ChartFigure
          picture={histogramPicture({
            title: say('lots.titleHistogram', { title }),
            label: title,
            unit: shown.symbol,
            classes: {
              edges: column.histogram.edges.map((e) => e * shown.factor),
              counts: column.histogram.counts,
            },
            lowerLimit: scaled(column.capability.lowerLimit),
            upperLimit: scaled(column.capability.upperLimit),
            mean: scaled(column.mean),
          })}
        />
      )}
      <ChartFigure
        picture={normalProbabilityPicture(
          say('lots.titleNormalProbabilityPlot', { title }),
          title,
          shown.symbol,
          values,
        )}
        note={say('lots.pointsAlongTheLineTheLot')}
      />
      <InOrder title={title} column={column} />
    </div>
  );
}

function InOrder({ title, column }: Pick<ColumnJudgementProps, 'title' | 'column'>) {
  const [units] = useUnits();
  const { points, centre, lower, upper, outside, reason } = column.inOrder;
  if (centre === null || lower === null || upper === null) {
    return <p>{say('lots.noChartInTheOrderOf', { reason: reasonSentence(reason) })}</p>;
  }
  const { factor, symbol } = displayUnit(column.unit, units);
  const out = new Set(outside);
  return (
    <ChartFigure
      picture={individualsPicture({
        title: say('lots.titleInTheOrderOfMeasuring', { title }),
        label: title,
        unit: symbol,
        values: points.map((p) => ({ name: p.serial, value: p.value * factor, outside: out.has(p.cellId) })),
        centre: centre * factor,
        lower: lower * factor,
        upper: upper * factor,
      })}
      note={say('lots.individualsChartMeanAndLimitsFrom')}
    />
  );
}

function toleranceSentence({ tolerance: t }: ColumnStatistics, shown: (value: number) => string): string {
  if (t.lower === null && t.upper === null) {
    return say('lots.noToleranceLimitsForTheCells', { reason: reasonSentence(t.reason) });
  }
  const range =
    t.lower !== null && t.upper !== null
      ? say('lots.betweenLowerAndUpper', { lower: shown(t.lower), upper: shown(t.upper) })
      : t.lower !== null
        ? say('lots.aboveLower', { lower: shown(t.lower) })
        : t.upper !== null
          ? say('lots.belowUpper', { upper: shown(t.upper) })
          : '';
  const rest = t.leftOut === 0 ? say('lots.theLot') : say('lots.theRest');
  const without =
    t.leftOut === 0
      ? ''
      : say('lots.withoutTheWord', { word: t.leftOut === 1 ? say('lots.outlier') : say('lots.outliers') });
  const basis =
    t.method === 'normal'
      ? say('lots.ifRestIsNormallyDistributed', { rest })
      : say('lots.fromTheOrderedValuesWhateverThe');
  return say('lots.withConfidenceConfidenceCoverageOfSuch', {
    confidence: percent(t.confidence, 0),
    coverage: significant(100 * t.coverage, 3),
    range,
    without,
    basis,
  });
}

function capabilitySentence({ capability: c }: ColumnStatistics): string {
  if (c.cpk === null) {
    return c.reason === 'no-specification'
      ? say('lots.noSpecificationLimitIsStatedFor')
      : say('lots.noCapabilityReason', { reason: reasonSentence(c.reason) });
  }
  const outside =
    c.outside.length === 0
      ? say('lots.noCellLiesOutside')
      : say('lots.outsideTheLimitsOutside', { outside: c.outside.map((o) => o.serial).join(', ') });
  const interval =
    c.cpkInterval === null
      ? ''
      : say('lots.n95IntervalCpkinterval', {
          cpkInterval: c.cpkInterval.map((v) => significant(v, 3)).join(say('lots.to')),
        });
  const cp = c.cp === null ? '' : `Cp ${significant(c.cp, 3)}, `;
  return say('lots.againstTheSpecificationCpCpkCpk', { cp, cpk: significant(c.cpk, 3), interval, outside });
}

function normalitySentence({ normality: n }: ColumnStatistics): string {
  if (n.normal === null || n.statistic === null || n.critical === null) {
    return say('lots.normalityWasNotTestedReason', { reason: reasonSentence(n.reason) });
  }
  const figures = say('lots.andersonDarlingStatisticCriticalCritical', {
    statistic: significant(n.statistic, 3),
    critical: significant(n.critical, 3),
  });
  return n.normal
    ? say('lots.nothingSpeaksAgainstANormalDistribution', { figures })
    : say('lots.notNormallyDistributedFiguresReadThe', { figures });
}
