import { type GaugeStudy, gaugeSentences } from '../../../../server/contract/gauge.ts';
import { useRequest } from '../../api/useRequest.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { insertionsPicture } from '../../charts/insertions.ts';
import { percent } from '../../format/number.ts';
import { quantity } from '../../format/quantity.ts';
import { Fact, Facts } from '../../parts/Fact.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { displayUnit } from '../../settings/units.ts';
import { useUnits } from '../../settings/useUnits.ts';
import { reasonSentence } from '../../words/reasons.ts';

const verdicts = {
  good: 'good. It tells the cells of this lot apart: inserting a cell again moves its value by up to a tenth of the spread between the cells',
  limited:
    'limited. It distinguishes only distant cells of this lot: inserting a cell again moves its value by a tenth to three tenths of the spread between the cells; average several insertions before pairing close cells',
  'not-enough':
    'not enough. It cannot distinguish the cells of this lot: inserting a cell again moves its value by more than three tenths of the spread between the cells, or the differences between the cells are not significant; improve the contacts before pairing by this column',
  unknown: 'not known',
} as const;

interface ColumnGaugeProps {
  readonly lotId: number;
  readonly title: string;
  readonly column: string;
}

/** What repeated insertions of the same cells say about the fixture, for one column of a lot. */
export function ColumnGauge({ lotId, title, column }: ColumnGaugeProps) {
  const { data, error, again } = useRequest('/lots/{id}/gauge', { params: { id: lotId }, query: { column } });
  if (error !== null) return <Problem error={error} again={again} />;
  if (data === undefined) return null;
  if (data.reason !== null || data.unit === null) {
    return (
      <p>
        No gauge study of the fixture: {reasonSentence(data.reason)}
        {data.reason !== 'no-spread' &&
          ' It needs two cells that were each tested twice or more, or a cell table that lists them so.'}
      </p>
    );
  }
  return <Study study={data} unit={data.unit} title={title} />;
}

function Study({ study, unit, title }: { study: GaugeStudy; unit: string; title: string }) {
  const [units] = useUnits();
  const shown = displayUnit(unit, units);
  const value = (of: number | null) => quantity(of, unit, units, 3);
  return (
    <>
      <h3>Gauge study of the fixture</h3>
      <p className={study.verdict === 'good' ? undefined : 'warning'}>
        {study.cells.length} cells, each inserted {study.trials} times
        {study.operators !== null &&
          ` by each of ${study.operators.length} operators (${study.operators.join(', ')})`}
        . Verdict on the fixture: {verdicts[study.verdict]}.
      </p>
      <Facts>
        <Fact name="Repeatability, 1 sd">
          {value(study.repeatability)}
          {study.repeatabilityInterval !== null &&
            ` (95 %: ${value(study.repeatabilityInterval.low)} to ${value(study.repeatabilityInterval.high)})`}
        </Fact>
        {study.crossed !== null && (
          <>
            <Fact name="Reproducibility between operators, 1 sd">{value(study.crossed.reproducibility)}</Fact>
            <Fact name="Gauge, both together, 1 sd">{value(study.crossed.gauge)}</Fact>
            <Fact name="Gauge by the range method, 1 sd">{value(study.crossed.gaugeByRange)}</Fact>
          </>
        )}
        <Fact name="Between cells, 1 sd">{value(study.betweenCells)}</Fact>
        {study.ratio !== null && (
          <Fact
            name={`${study.crossed === null ? 'Repeatability' : 'Gauge'} over spread of the ${study.basis === 'lot' ? 'lot' : 'study'}`}
          >
            {percent(study.ratio, 0)}
            {study.ratioInterval !== null &&
              ` (95 %: ${percent(study.ratioInterval.low, 0)} to ${percent(study.ratioInterval.high, 0)})`}
          </Fact>
        )}
        {study.distinctCategories !== null && (
          <Fact name="Distinguishable groups">{study.distinctCategories}</Fact>
        )}
        {study.byRange !== null && (
          <Fact name="Repeatability by the range method, 1 sd">{value(study.byRange.repeatability)}</Fact>
        )}
        {study.repeatabilityLimit !== null && (
          <Fact name="Two insertions agree within (95 %)">{value(study.repeatabilityLimit)}</Fact>
        )}
      </Facts>
      <ChartFigure
        picture={insertionsPicture({
          title: `${title}: repeated insertions`,
          label: title.split(',')[0],
          unit: shown.symbol,
          cells: study.cells.map(({ serial, readings }) => ({
            serial,
            readings: readings.map((reading) => reading * shown.factor),
          })),
        })}
        height={130 + 24 * study.cells.length}
        note="Readings of one cell that lie close together, and away from those of the other cells: the fixture tells them apart."
      />
      <p>{[basisSentence(study), ...gaugeSentences(study)].join(' ')}</p>
    </>
  );
}

/** What the ratio was taken of, and what was left out. */
function basisSentence({ basis, lotCells, lotOutliers, readingsLeftOut, pValue }: GaugeStudy): string {
  return [
    basis === 'lot'
      ? `The spread is that of ${lotCells} cells of the lot${
          lotOutliers === 0
            ? ''
            : `; ${lotOutliers === 1 ? 'one outlier is' : `${lotOutliers} outliers are`} left out of it`
        }.`
      : 'The spread is that of the cells of the study alone.',
    pValue === null
      ? ''
      : pValue < 0.001
        ? 'The differences between the cells are significant (p < 0.001).'
        : `If they were all alike, chance would make them differ so in ${percent(pValue, 1)} of studies.`,
    readingsLeftOut === 0
      ? ''
      : `${readingsLeftOut === 1 ? 'One older reading was' : `${readingsLeftOut} older readings were`} left out, so that every cell has as many.`,
    'Up to 10 % is taken as good and up to 30 % as limited (AIAG, Measurement Systems Analysis).',
  ]
    .filter((sentence) => sentence !== '')
    .join(' ');
}
