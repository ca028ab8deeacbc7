import type { AgeingCell, AgeingForecast, AgeingLimit } from '../../../../server/contract/ageingResult.ts';
import type { AgeingModelResult, AgeingTrack } from '../../../../server/contract/ageingTrack.ts';
import { publishedLawSentence } from '../../../../server/contract/publishedLaws.ts';
import { residualSentence } from '../../../../server/contract/residualChecks.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { chance, percent, significant, withUncertainty } from '../../format/number.ts';
import { quantity } from '../../format/quantity.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { nounInside } from '../../words/language.ts';
import { limitTitle } from '../../words/quantities.ts';
import { plainCode, reasonSentence } from '../../words/reasons.ts';
import { said } from '../../words/sentences.ts';
import { axisOf, trackPicture } from './trackPictures.ts';

/** One cell over life: capacity and resistance with forecast, limits, models and flags. */
export function TrackView({ cell }: { cell: AgeingCell }) {
  const [units] = useUnits();
  const tracks: AgeingTrack[] = cell.companion === null ? [cell] : [cell, cell.companion];
  return (
    <>
      {cell.flags.map((flag) => (
        <p key={flag} className="warning">
          {flagSentence(flag)}
        </p>
      ))}
      <div className="charts">
        {tracks.map((track) => (
          <ChartFigure
            key={track.quantity}
            picture={trackPicture(
              say('ageing.wordOfCellOverLife', {
                word: track.quantity === 'capacity' ? say('ageing.capacity') : say('ageing.resistance'),
                cell: cell.cell,
              }),
              track,
              cell.limits,
              units,
            )}
            height={340}
            {...(track.fan === null ? {} : { note: say('ageing.beyondTheLastMeasurementEverythingIs') })}
          />
        ))}
      </div>
      {tracks.flatMap((track) =>
        track.published.map((law) => (
          <p key={`${track.quantity} ${law.law}`} className="warning">
            {say('ageing.besideAPublishedLaw', {
              quantity: track.quantity === 'capacity' ? say('ageing.capacity') : say('ageing.resistance'),
              sentence: said(publishedLawSentence(law)),
            })}
          </p>
        )),
      )}
      <Limits cell={cell} />
      {tracks.map((track) => (
        <Models key={track.quantity} track={track} />
      ))}
    </>
  );
}

const flags = {
  'ages-faster-than-lot': say('ageing.thisCellAgesFasterThanIts'),
  'ages-slower-than-lot': say('ageing.thisCellAgesMoreSlowlyThan'),
  'resistance-away-from-lot': say('ageing.theResistanceOfThisCellGrows'),
  'carried-over': say('ageing.thisCellCarriesOnFromAnother'),
} as const;

function flagSentence(flag: keyof typeof flags): string {
  return flags[flag];
}

function Limits({ cell }: { cell: AgeingCell }) {
  const [units] = useUnits();
  const axis = axisOf(cell.axis);
  const unitOf = (name: string) => (name === cell.quantity ? cell.unit : (cell.companion?.unit ?? ''));
  return (
    <Sheet
      label={say('ageing.limitsOfCell', { cell: cell.cell })}
      head={[
        say('ageing.limit'),
        say('ageing.threshold'),
        say('ageing.crossedForGood', { axisLabel: nounInside(axis.label) }),
        say('ageing.forecastWithItsRange'),
        say('ageing.basis'),
      ]}
      numeric={[1, 2]}
      rows={cell.limits.map((l) => {
        const f = l.forecast;
        return [
          limitTitle(l.name),
          quantity(l.threshold, unitOf(l.quantity), units),
          l.crossedAt === null ? reasonSentence(l.reason) || say('ageing.notYet') : crossedText(l),
          rangeText(f),
          basisText(f),
        ];
      })}
    />
  );
}

/** `680 (between 660 and 700)`: the first point beyond, and what spacing and noise of the points leave open. */
function crossedText({ crossedAt, crossedBetween }: AgeingLimit): string {
  if (crossedAt === null) return '–';
  const at = significant(crossedAt, 4);
  if (crossedBetween == null) return at;
  const { low, high } = crossedBetween;
  return low === null
    ? say('ageing.atBeforeHigh', { at, high: significant(high, 4) })
    : say('ageing.atBetweenLowAndHigh', { at, low: significant(low, 4), high: significant(high, 4) });
}

/** `about 1022; 80 % of such cells between 672 and 1566`: one number, and its range in words. */
function rangeText(f: AgeingForecast): string {
  if (f.value === null) return reasonSentence(f.reason) || '–';
  const about = say('ageing.aboutValue', { value: significant(f.value, 3) });
  if (f.low === null) return about;
  const level = percent(f.level, 0);
  return f.high === null
    ? say('ageing.aboutLevelOfSuchCellsAbove', { about, level, low: significant(f.low, 3) })
    : say('ageing.aboutLevelOfSuchCellsBetween', {
        about,
        level,
        low: significant(f.low, 3),
        high: significant(f.high, 3),
      });
}

/** The basis of a forecast, how far it reaches, and what no data can announce. */
function basisText(f: AgeingForecast): string {
  if (f.value === null) return '';
  const reach =
    f.ratio === null ? [] : [say('ageing.ratioTheObservedRange', { ratio: significant(f.ratio, 3) })];
  const method = f.method === null ? [] : [plainCode(f.method)];
  const cells = f.priorCells.length;
  const matched =
    f.priorConditions.length === 0
      ? say('ageing.theirConditionsAreNotStated')
      : say('ageing.underTheSameConditions');
  const lot = cells === 0 ? [] : [say('ageing.cellsFinishedCellsMatched', { cells, matched })];
  const bend =
    f.bendAhead === null
      ? [say('ageing.aStraightLineWhichAllowsFor')]
      : [say('ageing.noDataAnnounceAFurtherBend', { bendAhead: chance(f.bendAhead) })];
  const by =
    f.reachedBy === null
      ? []
      : [
          say('ageing.reachedByAgeWithProbability', {
            age: significant(f.reachedBy.x, 4),
            probability: chance(f.reachedBy.probability),
          }),
        ];
  return [...reach, ...method, ...by, ...lot, ...bend].join('; ');
}

/** ` (95 %: 1.2 to 1.7)`, an end that the data leave open named so; nothing for a model that was not chosen. */
function intervalText(interval: AgeingModelResult['intervals'][string] | undefined): string {
  if (interval === undefined) return '';
  const end = (value: number | null) => (value === null ? say('ageing.open') : significant(value, 3));
  return say('ageing.interval95', { low: end(interval.low), high: end(interval.high) });
}

function Models({ track }: { track: AgeingTrack }) {
  const checks = track.models.find(({ name }) => name === track.chosen)?.residualChecks ?? null;
  return (
    <details>
      <summary>
        {say('ageing.modelsTriedForTheQuantity', { quantity: plainCode(track.quantity) })}
        {track.chosen !== null && say('ageing.chosenChosen', { chosen: plainCode(track.chosen) })}
        {track.knee.at !== null && say('ageing.kneeAtAt', { at: significant(track.knee.at, 3) })}
      </summary>
      {checks !== null && (
        <p className={checks.verdict === 'pattern' ? 'warning' : undefined}>
          {said(residualSentence(checks))}
          {checks.verdict === 'pattern' && say('ageing.intervalsAreWidenedForIt')}
        </p>
      )}
      <Sheet
        label={say('ageing.modelsOfTheQuantity', { quantity: plainCode(track.quantity) })}
        head={[
          say('ageing.model'),
          'ΔAICc',
          say('ageing.weight'),
          say('ageing.residualSd'),
          say('ageing.parameters'),
          say('ageing.remark'),
        ]}
        numeric={[1, 2, 3]}
        rows={track.models.map((m) => [
          `${plainCode(m.name)}${m.name === track.chosen ? say('ageing.chosen') : ''}`,
          m.deltaAicc === null ? '–' : significant(m.deltaAicc, 3),
          m.weight === null ? '–' : percent(m.weight, 1),
          m.residualSd === null ? '–' : significant(m.residualSd, 3),
          Object.entries(m.parameters)
            .map(([name, value]) => {
              const error = m.standardErrors[name] ?? null;
              const text =
                value === null ? '–' : error === null ? significant(value) : withUncertainty(value, error);
              return `${name} ${text} ${m.units[name] ?? ''}${intervalText(m.intervals[name])}`.trim();
            })
            .join('; '),
          reasonSentence(m.reason),
        ])}
      />
    </details>
  );
}
