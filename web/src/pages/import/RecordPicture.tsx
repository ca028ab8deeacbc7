import type { ImportPreview } from '../../../../server/contract/import.ts';
import { significant } from '../../format/number.ts';
import { say } from '../../words/i18n.ts';

const width = 360;
const height = 60;

/** Voltage and current of the first run as understood, and whether charge raises the voltage. */
export function RecordPicture({ preview }: { preview: ImportPreview }) {
  const { picture, signCheck } = preview;
  if (picture.length < 2) return null;
  const verdict = { agrees: 'yes', reversed: 'no', undecided: say('import.cannotBeSeenHere') }[
    signCheck?.verdict ?? 'undecided'
  ];
  return (
    <figure className="record-picture">
      <Line points={picture.map(({ timeS, voltageV }) => [timeS, voltageV])} name="Voltage" unit="V" />
      <Line points={picture.map(({ timeS, currentA }) => [timeS, currentA])} name="Current" unit="A" />
      <figcaption>{say('import.chargeRaisesTheVoltageVerdict', { verdict })}</figcaption>
    </figure>
  );
}

function Line({
  points,
  name,
  unit,
}: {
  readonly points: readonly (readonly [number, number])[];
  readonly name: string;
  readonly unit: string;
}) {
  const span = (at: 0 | 1): [number, number] => {
    const values = points.map((point) => point[at]);
    return [Math.min(...values), Math.max(...values)];
  };
  const [x0, x1] = span(0);
  const [y0, y1] = span(1);
  const path = points
    .map(([x, y]) => {
      const at = ((x - x0) / (x1 - x0 || 1)) * width;
      const up = height - 4 - ((y - y0) / (y1 - y0 || 1)) * (height - 8);
      return `${at.toFixed(1)},${up.toFixed(1)}`;
    })
    .join(' ');
  const range = say('import.y0ToY1Unit', { y0: significant(y0, 4), y1: significant(y1, 4), unit });
  return (
    <svg
      viewBox={`0 0 ${width} ${height}`}
      width={width}
      height={height}
      role="img"
      aria-label={`${name}: ${range}`}
    >
      <title>{`${name}: ${range}`}</title>
      <polyline points={path} fill="none" stroke="currentColor" strokeWidth="1.2" />
    </svg>
  );
}
