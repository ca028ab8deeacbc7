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
import { reasonSentence } from '../../words/reasons.ts';
import { ColumnGauge } from './ColumnGauge.tsx';

const verdicts = {
  good: 'The measurement tells the cells apart: the spread between cells is well above the uncertainty of a value.',
  limited:
    'Measurement error is close to the spread between cells: only cells far apart can be distinguished.',
  'not-enough':
    'The measurement cannot tell the cells apart: the uncertainty of a value is as large as the spread. Improve the fixture or repeat before pairing by this column.',
  unknown:
    'The values carry no uncertainty, so it is not known whether the measurement can tell the cells apart.',
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
        <strong>{title}</strong>: median {quantity(column.median, column.unit, units)}
        {column.relativeSpread !== null && <>, spread {percent(column.relativeSpread, 2)}</>}
        {outliers > 0 && (
          <>
            , {outliers} {outliers === 1 ? 'outlier' : 'outliers'}
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
        <Fact name="Cells">{column.n}</Fact>
        <Fact name="Mean">{quantity(column.mean, column.unit, units)}</Fact>
        <Fact name="Standard deviation">{quantity(column.standardDeviation, column.unit, units, 3)}</Fact>
        <Fact name="Median">{quantity(column.median, column.unit, units)}</Fact>
        <Fact name="Least to greatest">
          {quantity(column.minimum, column.unit, units)} to {quantity(column.maximum, column.unit, units)}
        </Fact>
      </Facts>
      <JudgementCharts title={title} column={column} />
      {column.mixedCurrents !== null && (
        <p className="warning">
          Measured with currents from {quantity(column.mixedCurrents.leastA, 'A', units)} to{' '}
          {quantity(column.mixedCurrents.greatestA, 'A', units)}: the values depend on the current, so that
          the cells cannot be compared by them.
        </p>
      )}
      {column.mixedCurrents === null && column.currents !== null && (
        <p>Measured at {quantity(column.currents.greatestA, 'A', units)}.</p>
      )}
      {column.repeated !== null && (
        <p>
          {column.repeated.cells} cells have {column.repeated.readings} readings here; the newest of each
          counts. The gauge study uses all of them.
        </p>
      )}
      <p>{capabilitySentence(column)}</p>
      <p>{normalitySentence(column)}</p>
      <p>{toleranceSentence(column, (value) => quantity(value, column.unit, units))}</p>
      <p>{verdicts[column.resolution.verdict]}</p>
      <ColumnGauge lotId={lotId} title={title} column={column.key} />
      {column.outliers.length > 0 && (
        <p className="warning">
          {column.outliers.length === 1 ? 'One outlier: ' : `${column.outliers.length} outliers: `}
          {column.outliers.map((o, i) => (
            <span key={o.cellId}>
              {i > 0 && ', '}
              <Link to={`/cells/${o.cellId}`}>{o.serial}</Link> ({quantity(o.value, column.unit, units)},{' '}
              {significant(o.score, 2)} robust standard deviations)
            </span>
          ))}
        </p>
      )}
      {column.grubbs.reason === null && (
        <p>
          Grubbs’ test at {100 * column.grubbs.alpha} % finds{' '}
          {column.grubbs.outliers.length === 0
            ? 'no outlier.'
            : `${column.grubbs.outliers.map((o) => o.serial).join(', ')}.`}{' '}
          It assumes that the other cells are normally distributed; several outliers side by side can hide
          each other from it, but not from the robust rule.
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
            title: `${title}: histogram`,
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
        picture={normalProbabilityPicture(`${title}: normal-probability plot`, title, shown.symbol, values)}
        note="Points along the line: the lot is normally distributed. Ends that bend away: tails or a mixture."
      />
      <InOrder title={title} column={column} />
    </div>
  );
}

function InOrder({ title, column }: Pick<ColumnJudgementProps, 'title' | 'column'>) {
  const [units] = useUnits();
  const { points, centre, lower, upper, outside, reason } = column.inOrder;
  if (centre === null || lower === null || upper === null) {
    return <p>No chart in the order of measuring. {reasonSentence(reason)}</p>;
  }
  const { factor, symbol } = displayUnit(column.unit, units);
  const out = new Set(outside);
  return (
    <ChartFigure
      picture={individualsPicture({
        title: `${title}: in the order of measuring`,
        label: title,
        unit: symbol,
        values: points.map((p) => ({ name: p.serial, value: p.value * factor, outside: out.has(p.cellId) })),
        centre: centre * factor,
        lower: lower * factor,
        upper: upper * factor,
      })}
      note="Individuals chart: mean and limits from the differences of neighbours. A slope or a jump along the order speaks of the set-up (contacts, temperature) rather than of the cells."
    />
  );
}

function toleranceSentence({ tolerance: t }: ColumnStatistics, shown: (value: number) => string): string {
  if (t.lower === null && t.upper === null) {
    return `No tolerance limits for the cells not measured. ${reasonSentence(t.reason)}`;
  }
  const range =
    t.lower !== null && t.upper !== null
      ? `between ${shown(t.lower)} and ${shown(t.upper)}`
      : t.lower !== null
        ? `above ${shown(t.lower)}`
        : t.upper !== null
          ? `below ${shown(t.upper)}`
          : '';
  const rest = t.leftOut === 0 ? 'the lot' : 'the rest';
  const without = t.leftOut === 0 ? '' : `without the ${t.leftOut === 1 ? 'outlier' : 'outliers'}, `;
  const basis =
    t.method === 'normal'
      ? `if ${rest} is normally distributed`
      : 'from the ordered values, whatever the distribution';
  return `With ${percent(t.confidence, 0)} confidence, ${significant(100 * t.coverage, 3)} % of such cells lie ${range} (${without}${basis}).`;
}

function capabilitySentence({ capability: c }: ColumnStatistics): string {
  if (c.cpk === null) {
    return c.reason === 'no-specification'
      ? 'No specification limit is stated for this quantity, so there is no capability to judge.'
      : `No capability: ${reasonSentence(c.reason)}`;
  }
  const outside =
    c.outside.length === 0
      ? 'no cell lies outside'
      : `outside the limits: ${c.outside.map((o) => o.serial).join(', ')}`;
  const interval =
    c.cpkInterval === null
      ? ''
      : ` (95 % interval ${c.cpkInterval.map((v) => significant(v, 3)).join(' to ')})`;
  const cp = c.cp === null ? '' : `Cp ${significant(c.cp, 3)}, `;
  return `Against the specification: ${cp}Cpk ${significant(c.cpk, 3)}${interval}; ${outside}.`;
}

function normalitySentence({ normality: n }: ColumnStatistics): string {
  if (n.normal === null || n.statistic === null || n.critical === null) {
    return `Normality was not tested. ${reasonSentence(n.reason)}`;
  }
  const figures = `(Anderson–Darling ${significant(n.statistic, 3)}, critical ${significant(n.critical, 3)})`;
  return n.normal
    ? `Nothing speaks against a normal distribution ${figures}.`
    : `Not normally distributed ${figures}: read the tails before trusting capability figures.`;
}
