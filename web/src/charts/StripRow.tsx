import type { ReactNode } from 'react';
import { useNavigate } from 'react-router';
import { say } from '../words/i18n.ts';

export interface StripValue {
  readonly id: number;
  readonly name: string;
  readonly value: number;
  readonly outlier: boolean;
}

export interface StripRowProps {
  readonly title: string;
  readonly values: readonly StripValue[];
  readonly median: number | null;
  /** Limits of the specification, in the unit of the values. */
  readonly limits: readonly { readonly name: string; readonly at: number | null }[];
  /** The cell that the page is about; it is drawn large. */
  readonly here?: number;
  /** What stands beside the strip. */
  readonly children: ReactNode;
}

/** Nearer than this, in percent of the strip, two points would cover each other. */
const tooNear = 1.1;
const lanes = [0, -7, 7, -12, 12] as const;

/** All cells of a lot on one line, each a point that leads to its cell: where the lot lies, and who lies apart. */
export function StripRow({ title, values, median, limits, here, children }: StripRowProps) {
  const go = useNavigate();
  if (values.length === 0) return null;
  const range = rangeOf(values, limits);
  const at = (value: number) => 3 + (94 * (value - range.low)) / (range.high - range.low || 1);
  const placed = inLanes(values, at);
  return (
    <div className="strip">
      <div className="strip-title">{title}</div>
      {/* biome-ignore lint/a11y/useKeyWithClickEvents: a short cut for the mouse; by keyboard the table below leads to the cells */}
      <svg
        className="strip-line"
        height="36"
        aria-label={say('charts.titleValuesCells', { title, values: values.length })}
        role="img"
        onClick={(e) => {
          const cell = e.target instanceof Element ? e.target.getAttribute('data-cell') : null;
          if (cell !== null) void go(`/cells/${cell}`);
        }}
      >
        <line x1="0" x2="100%" y1="18" y2="18" className="strip-axis" />
        {median !== null && (
          <line x1={`${at(median)}%`} x2={`${at(median)}%`} y1="4" y2="32" className="strip-median" />
        )}
        {limits.map(
          ({ name, at: limit }) =>
            limit !== null &&
            limit >= range.low &&
            limit <= range.high && (
              <line
                key={name}
                x1={`${at(limit)}%`}
                x2={`${at(limit)}%`}
                y1="0"
                y2="36"
                className="strip-limit"
              >
                <title>{name}</title>
              </line>
            ),
        )}
        {placed.map(({ value: v, x, lane }) => (
          <circle
            key={v.id}
            data-cell={v.id}
            cx={`${x}%`}
            cy={18 + lane}
            r={v.id === here ? 7 : v.outlier ? 5 : 4}
            className={v.id === here ? 'strip-here' : v.outlier ? 'strip-outlier' : 'strip-point'}
          >
            <title>{v.name}</title>
          </circle>
        ))}
      </svg>
      <div className="strip-text">{children}</div>
    </div>
  );
}

/** From the least to the greatest value, with the limits where they do not squeeze the points together. */
function rangeOf(values: readonly StripValue[], limits: StripRowProps['limits']) {
  const low = Math.min(...values.map((v) => v.value));
  const high = Math.max(...values.map((v) => v.value));
  const span = high - low || Math.abs(high) || 1;
  const near = limits.flatMap((l) =>
    l.at !== null && l.at > low - span && l.at < high + span ? [l.at] : [],
  );
  return { low: Math.min(low, ...near), high: Math.max(high, ...near) };
}

function inLanes(values: readonly StripValue[], at: (value: number) => number) {
  const last: number[] = lanes.map(() => Number.NEGATIVE_INFINITY);
  return [...values]
    .sort((a, b) => a.value - b.value)
    .map((value) => {
      const x = at(value.value);
      const free = last.findIndex((before) => x - before >= tooNear);
      const lane = free < 0 ? last.indexOf(Math.min(...last)) : free;
      last[lane] = x;
      return { value, x, lane: lanes[lane] };
    });
}
