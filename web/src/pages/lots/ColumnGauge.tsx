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
import { say } from '../../words/i18n.ts';
import { reasonSentence } from '../../words/reasons.ts';
import { said } from '../../words/sentences.ts';

const verdicts = {
  good: say('lots.goodItTellsTheCellsOf'),
  limited: say('lots.limitedItDistinguishesOnlyDistantCells'),
  'not-enough': say('lots.notEnoughItCannotDistinguishThe'),
  unknown: say('lots.notKnown'),
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
        {say('lots.noGaugeStudyOfTheFixture', { reason: reasonSentence(data.reason) })}
        {data.reason !== 'no-spread' && say('lots.itNeedsTwoCellsThatWere')}
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
      <h3>{say('lots.gaugeStudyOfTheFixture')}</h3>
      <p className={study.verdict === 'good' ? undefined : 'warning'}>
        {say('lots.cellsCellsEachInsertedTrialsTimes', {
          cells: study.cells.length,
          trials: study.trials,
          verdicts: verdicts[study.verdict],
        })}
        {study.operators !== null &&
          say('lots.byEachOfTheOperators', {
            count: study.operators.length,
            operators: study.operators.join(', '),
          })}
      </p>
      <Facts>
        <Fact name={say('lots.repeatabilityOneSd')}>
          {value(study.repeatability)}
          {study.repeatabilityInterval !== null &&
            say('lots.interval95', {
              low: value(study.repeatabilityInterval.low),
              high: value(study.repeatabilityInterval.high),
            })}
        </Fact>
        {study.crossed !== null && (
          <>
            <Fact name={say('lots.reproducibilityBetweenOperators')}>
              {value(study.crossed.reproducibility)}
            </Fact>
            <Fact name={say('lots.gaugeBothTogether')}>{value(study.crossed.gauge)}</Fact>
            <Fact name={say('lots.gaugeByTheRangeMethod')}>{value(study.crossed.gaugeByRange)}</Fact>
          </>
        )}
        <Fact name={say('lots.betweenCells1Sd')}>{value(study.betweenCells)}</Fact>
        {study.ratio !== null && (
          <Fact
            name={say('lots.gaugeOverSpread', {
              gauge: study.crossed === null ? say('lots.repeatability') : say('lots.gauge'),
              basis: study.basis === 'lot' ? say('lots.basisLot') : say('lots.basisStudy'),
            })}
          >
            {percent(study.ratio, 0)}
            {study.ratioInterval !== null &&
              say('lots.interval95', {
                low: percent(study.ratioInterval.low, 0),
                high: percent(study.ratioInterval.high, 0),
              })}
          </Fact>
        )}
        {study.distinctCategories !== null && (
          <Fact name={say('lots.distinguishableGroups')}>{study.distinctCategories}</Fact>
        )}
        {study.byRange !== null && (
          <Fact name={say('lots.repeatabilityByTheRangeMethod1')}>{value(study.byRange.repeatability)}</Fact>
        )}
        {study.repeatabilityLimit !== null && (
          <Fact name={say('lots.twoInsertionsAgreeWithin95')}>{value(study.repeatabilityLimit)}</Fact>
        )}
      </Facts>
      <ChartFigure
        picture={insertionsPicture({
          title: say('lots.titleRepeatedInsertions', { title }),
          label: title.split(',')[0],
          unit: shown.symbol,
          cells: study.cells.map(({ serial, readings }) => ({
            serial,
            readings: readings.map((reading) => reading * shown.factor),
          })),
        })}
        height={130 + 24 * study.cells.length}
        note={say('lots.readingsOfOneCellThatLie')}
      />
      <p>{[basisSentence(study), ...gaugeSentences(study).map(said)].join(' ')}</p>
    </>
  );
}

/** What the ratio was taken of, and what was left out. */
function basisSentence({ basis, lotCells, lotOutliers, readingsLeftOut, pValue }: GaugeStudy): string {
  return [
    basis === 'lot'
      ? say('lots.theSpreadIsThatOfCells', {
          lotCells,
          lotOutliers:
            lotOutliers === 0
              ? ''
              : say('lots.leftOutOfIt', {
                  lotOutliers:
                    lotOutliers === 1 ? say('lots.oneOutlierIs') : say('lots.outliersAre', { lotOutliers }),
                }),
        })
      : say('lots.theSpreadIsThatOfThe'),
    pValue === null
      ? ''
      : pValue < 0.001
        ? say('lots.theDifferencesBetweenTheCellsAre')
        : say('lots.ifTheyWereAllAlikeChance', { pValue: percent(pValue, 1) }),
    readingsLeftOut === 0
      ? ''
      : say('lots.leftOutSoThatEveryCell', {
          readingsLeftOut:
            readingsLeftOut === 1
              ? say('lots.oneOlderReadingWas')
              : say('lots.olderReadingsWere', { readingsLeftOut }),
        }),
    say('lots.upTo10IsTakenAs'),
  ]
    .filter((sentence) => sentence !== '')
    .join(' ');
}
