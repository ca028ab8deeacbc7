import type { AgeingCell, AgeingForecast, AgeingLimit } from '../../../../server/contract/ageingResult.ts';
import type { AgeingModelResult, AgeingTrack } from '../../../../server/contract/ageingTrack.ts';
import { limitWord } from '../../../../server/contract/limitName.ts';
import { publishedLawSentence } from '../../../../server/contract/publishedLaws.ts';
import { residualSentence } from '../../../../server/contract/residualChecks.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { percent, significant, withUncertainty } from '../../format/number.ts';
import { quantity } from '../../format/quantity.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { plainCode, reasonSentence } from '../../words/reasons.ts';
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
              `${track.quantity === 'capacity' ? 'Capacity' : 'Resistance'} of ${cell.cell} over life`,
              track,
              cell.limits,
              units,
            )}
            height={340}
            {...(track.fan === null
              ? {}
              : { note: 'Beyond the last measurement everything is extrapolated.' })}
          />
        ))}
      </div>
      {tracks.flatMap((track) =>
        track.published.map((law) => (
          <p key={`${track.quantity} ${law.law}`} className="warning">
            {track.quantity === 'capacity' ? 'Capacity' : 'Resistance'} beside a published law:{' '}
            {publishedLawSentence(law)}
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
  'ages-faster-than-lot': 'This cell ages faster than its lot.',
  'ages-slower-than-lot': 'This cell ages more slowly than its lot.',
  'resistance-away-from-lot': 'The resistance of this cell grows differently from its lot.',
  'carried-over': 'This cell carries on from another campaign; its earlier life is not in the data.',
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
      label={`Limits of ${cell.cell}`}
      head={[
        'Limit',
        'Threshold',
        `Crossed for good, ${axis.label.toLowerCase()}`,
        'Forecast, with its range',
        'Basis',
      ]}
      numeric={[1, 2]}
      rows={cell.limits.map((l) => {
        const f = l.forecast;
        return [
          limitWord(l.name),
          quantity(l.threshold, unitOf(l.quantity), units),
          l.crossedAt === null ? reasonSentence(l.reason) || 'not yet' : crossedText(l),
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
    ? `${at} (before ${significant(high, 4)})`
    : `${at} (between ${significant(low, 4)} and ${significant(high, 4)})`;
}

/** `about 1022; 80 % of such cells between 672 and 1566`: one number, and its range in words. */
function rangeText(f: AgeingForecast): string {
  if (f.value === null) return reasonSentence(f.reason) || '–';
  const about = `about ${significant(f.value, 3)}`;
  if (f.low === null) return about;
  const level = percent(f.level, 0);
  return f.high === null
    ? `${about}; ${level} of such cells above ${significant(f.low, 3)}, with no upper end`
    : `${about}; ${level} of such cells between ${significant(f.low, 3)} and ${significant(f.high, 3)}`;
}

/** The basis of a forecast, how far it reaches, and what no data can announce. */
function basisText(f: AgeingForecast): string {
  if (f.value === null) return '';
  const reach = f.ratio === null ? [] : [`${significant(f.ratio, 3)} × the observed range`];
  const method = f.method === null ? [] : [plainCode(f.method)];
  const cells = f.priorCells.length;
  const matched =
    f.priorConditions.length === 0 ? 'their conditions are not stated' : 'under the same conditions';
  const lot = cells === 0 ? [] : [`${cells} finished cells, ${matched}`];
  const bend =
    f.bendAhead === null
      ? ['a straight line, which allows for no bend']
      : [`no data announce a further bend; the range allows for one (${percent(f.bendAhead, 0)})`];
  const by =
    f.reachedBy === null
      ? []
      : [`reached by ${significant(f.reachedBy.x, 4)} with ${percent(f.reachedBy.probability, 0)}`];
  return [...reach, ...method, ...by, ...lot, ...bend].join('; ');
}

/** ` (95 %: 1.2 to 1.7)`, an end that the data leave open named so; nothing for a model that was not chosen. */
function intervalText(interval: AgeingModelResult['intervals'][string] | undefined): string {
  if (interval === undefined) return '';
  const end = (value: number | null) => (value === null ? 'open' : significant(value, 3));
  return ` (95 %: ${end(interval.low)} to ${end(interval.high)})`;
}

function Models({ track }: { track: AgeingTrack }) {
  const checks = track.models.find(({ name }) => name === track.chosen)?.residualChecks ?? null;
  return (
    <details>
      <summary>
        Models tried for the {track.quantity}
        {track.chosen !== null && `; chosen: ${plainCode(track.chosen)}`}
        {track.knee.at !== null && `; knee at ${significant(track.knee.at, 3)}`}
      </summary>
      {checks !== null && (
        <p className={checks.verdict === 'pattern' ? 'warning' : undefined}>
          {residualSentence(checks)}
          {checks.verdict === 'pattern' &&
            ' The intervals of the parameters are widened for it, and the forecast averages over other shapes.'}
        </p>
      )}
      <Sheet
        label={`Models of the ${track.quantity}`}
        head={['Model', 'ΔAICc', 'Weight', 'Residual sd', 'Parameters', 'Remark']}
        numeric={[1, 2, 3]}
        rows={track.models.map((m) => [
          `${plainCode(m.name)}${m.name === track.chosen ? ' (chosen)' : ''}`,
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
