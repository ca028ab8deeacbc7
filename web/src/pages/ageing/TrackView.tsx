import type { AgeingCell, AgeingForecast } from '../../../../server/contract/ageingResult.ts';
import type { AgeingTrack } from '../../../../server/contract/ageingTrack.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { percent, significant, withUncertainty } from '../../format/number.ts';
import { quantity } from '../../format/quantity.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { plainCode, reasonSentence } from '../../words/reasons.ts';
import { axisOf, limitWord, trackPicture } from './trackPictures.ts';

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
  const at = (value: number | null) => (value === null ? '–' : significant(value, 4));
  const unitOf = (name: string) => (name === cell.quantity ? cell.unit : (cell.companion?.unit ?? ''));
  return (
    <Sheet
      label={`Limits of ${cell.cell}`}
      head={[
        'Limit',
        'Threshold',
        `Crossed for good, ${axis.label.toLowerCase()}`,
        'Forecast',
        'Interval',
        'Basis',
        'Best model to go on, taken alone',
      ]}
      numeric={[1, 2, 3]}
      rows={cell.limits.map((l) => {
        const f = l.forecast;
        return [
          limitWord(l.name),
          quantity(l.threshold, unitOf(l.quantity), units),
          l.crossedAt === null ? reasonSentence(l.reason) || 'not yet' : at(l.crossedAt),
          f.value === null ? reasonSentence(f.reason) || '–' : at(f.value),
          f.low === null && f.high === null
            ? '–'
            : `${at(f.low)} to ${f.high === null ? 'open' : at(f.high)} (${percent(f.level, 0)})`,
          f.value === null
            ? ''
            : `${f.extrapolation ? 'extrapolated' : 'inside the data'}${
                f.ratio === null ? '' : `, ${significant(f.ratio, 3)} × the observed range`
              }${f.method === null ? '' : `; ${plainCode(f.method)}`}`,
          singleModelText(f),
        ];
      })}
    />
  );
}

/** The interval of the best model taken for true: narrower, because it does not allow for the model being wrong. */
function singleModelText({ singleModel: single }: AgeingForecast): string {
  if (single === null || single === undefined) return '–';
  const name = plainCode(single.name);
  if (single.value === null) return `${name}: ${reasonSentence(single.reason) || 'no value'}`;
  const high = single.high === null ? 'open' : significant(single.high, 4);
  const interval = single.low === null ? '' : ` (${significant(single.low, 4)} to ${high})`;
  return `${name}: ${significant(single.value, 4)}${interval}`;
}

function Models({ track }: { track: AgeingTrack }) {
  return (
    <details>
      <summary>
        Models tried for the {track.quantity}
        {track.chosen !== null && `; chosen: ${plainCode(track.chosen)}`}
        {track.knee.at !== null && `; knee at ${significant(track.knee.at, 3)}`}
      </summary>
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
              return `${name} ${text} ${m.units[name] ?? ''}`.trim();
            })
            .join('; '),
          reasonSentence(m.reason),
        ])}
      />
    </details>
  );
}
