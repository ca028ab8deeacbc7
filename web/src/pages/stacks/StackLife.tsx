import type { StackLife as Life } from '../../../../server/contract/stackLife.ts';
import { useRequest } from '../../api/useRequest.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import type { Picture } from '../../charts/picture.ts';
import { fixed } from '../../format/number.ts';
import { missing } from '../../format/quantity.ts';
import { Problem } from '../../parts/Problem.tsx';
import { Said } from '../../parts/Said.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { say } from '../../words/i18n.ts';

const shapes = ['circle', 'square', 'triangle', 'diamond'] as const;

/** A stack over its life: what it says in a sentence, then drift, resistance and capacity over cycles. */
export function StackLife({ stackId }: { stackId: number }) {
  const life = useRequest('/stacks/{id}/life', { params: { id: String(stackId) } });
  const { data } = life;
  if (data === undefined) return <Problem error={life.error} again={life.again} />;
  if (data.verdict.length === 0) return null;
  const [first, ...further] = data.verdict;
  const drifting = data.drift.some((one) => one.drifting);
  return (
    <section aria-label={say('stacks.theStackOverItsLife')}>
      {drifting && <p className="warning">{say('stacks.warningSignTheCellsOfThis')}</p>}
      <p className="answer">
        <Said text={first} />
      </p>
      {further.length > 0 && (
        <p>
          <Said text={further.join(' ')} />
        </p>
      )}
      <div className="charts">
        {picturesOf(data).map((picture) => (
          <ChartFigure key={picture.title} picture={picture} />
        ))}
      </div>
      <Changes life={data} />
    </section>
  );
}

function picturesOf({ tracks, drift }: Life): Picture[] {
  const pictures: Picture[] = [];
  if (drift.some(({ points }) => points.length > 0))
    pictures.push({
      title: say('stacks.chargeInACellAgainstThe'),
      x: { label: say('stacks.cycle'), unit: '' },
      y: { label: say('stacks.difference'), unit: 'mAh' },
      series: drift.map(({ serial, points }, i) => ({
        name: serial,
        points: points.map(({ cycle, differenceAh }) => ({ x: cycle, y: 1000 * differenceAh })),
        draw: 'line-and-points',
        ink: i,
        shape: shapes[i % 4],
      })),
      lines: [{ axis: 'y', at: 0, name: '', ink: 7, dash: 'dashed' }],
    });
  for (const quantity of ['resistance', 'capacity'] as const) {
    const own = tracks.filter((track) => track.quantity === quantity && track.points.length > 1);
    if (own.length === 0) continue;
    const isResistance = quantity === 'resistance';
    pictures.push({
      title: isResistance ? say('stacks.resistanceOverCycles') : say('stacks.capacityOverCycles'),
      x: { label: say('stacks.cycle'), unit: '' },
      y: isResistance
        ? { label: say('stacks.resistance'), unit: 'mΩ' }
        : { label: say('stacks.capacity'), unit: 'Ah' },
      series: [...own.map((track, i) => lineOf(track, i)), ...leftOutOf(own)],
    });
  }
  return pictures;
}

type Track = Life['tracks'][number];

const drawn = ({ quantity }: Track, points: Track['points']) =>
  points.map(({ cycle, value }) => ({ x: cycle, y: quantity === 'resistance' ? 1000 * value : value }));

function lineOf(track: Track, i: number): Picture['series'][number] {
  const { serial, source, points } = track;
  return {
    name: source === 'charge' ? say('stacks.serialR0OfMeasuredCharges', { serial }) : serial,
    points: drawn(
      track,
      points.filter(({ leftOut }) => leftOut === null),
    ),
    draw: 'line-and-points',
    ink: i,
    shape: shapes[i % 4],
    dash: source === 'charge' ? 'dashed' : 'solid',
  };
}

/** Readings that count in no change: a mark each, and no line that would lead to them. */
function leftOutOf(tracks: readonly Track[]): Picture['series'][number][] {
  const points = tracks.flatMap((track) =>
    drawn(
      track,
      track.points.filter(({ leftOut }) => leftOut !== null),
    ),
  );
  return points.length === 0
    ? []
    : [{ name: say('stacks.leftOutOfTheChange'), points, draw: 'points', ink: 7, shape: 'cross' }];
}

function Changes({ life }: { life: Life }) {
  const percent = (value: number | null) => (value === null ? missing : fixed(100 * value, 1));
  const milli = (value: number | null) => (value === null ? missing : fixed(1000 * value, 3));
  return (
    <Sheet
      label={say('stacks.changesOverLife')}
      head={[
        say('stacks.what'),
        say('stacks.cell'),
        say('stacks.change'),
        say('stacks.from'),
        say('stacks.to'),
        say('stacks.unit'),
        say('stacks.ages'),
      ]}
      numeric={[2, 3, 4, 6]}
      rows={[
        ...life.drift.flatMap(({ serial, perCycleAh, points }) =>
          perCycleAh === null
            ? []
            : [
                [
                  say('stacks.driftAgainstTheFirstCell'),
                  serial,
                  milli(perCycleAh.value),
                  milli(perCycleAh.low),
                  milli(perCycleAh.high),
                  say('stacks.mahPerCycle'),
                  points.length,
                ],
              ],
        ),
        ...life.tracks.flatMap(({ serial, quantity, source, change, points }) =>
          change === null
            ? []
            : [
                [
                  source === 'charge'
                    ? say('stacks.r0OfMeasuredCharges')
                    : quantity === 'capacity'
                      ? say('stacks.capacity')
                      : say('stacks.resistance'),
                  serial,
                  percent(change.value),
                  percent(change.low),
                  percent(change.high),
                  '%',
                  points.length,
                ],
              ],
        ),
      ]}
    />
  );
}
