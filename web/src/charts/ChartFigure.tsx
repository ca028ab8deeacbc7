import { Button, Group } from '@mantine/core';
import { useEffect, useId, useRef, useState } from 'react';
import { downloadBlob, downloadText } from '../parts/download.ts';
import { useIsDark } from '../settings/colourScheme.ts';
import { useFinger } from '../settings/useFinger.ts';
import { say } from '../words/i18n.ts';
import { chartConfig, type LineConfig } from './chartConfig.ts';
import { Drawing } from './drawing.ts';
import { PictureTableView } from './PictureTableView.tsx';
import { darkPalette, lightPalette } from './palette.ts';
import type { Picture } from './picture.ts';
import { pictureFile } from './pictureFile.ts';
import { fileName, pictureTable, tableCsv } from './pictureTable.ts';

export interface ChartFigureProps {
  readonly picture: Picture;
  /** Height of the drawing in pixels. */
  readonly height?: number;
  readonly zoom?: boolean;
  /** For a chart whose window is held by the page: the reader wants to see this range, or the whole (null). */
  readonly onWindow?: (window: { from: number; to: number } | null) => void;
  /** With `onWindow`: whether the page shows less than the whole, so that a finger may move the chart. */
  readonly isPart?: boolean;
  /** A named point was pressed. */
  readonly onPoint?: (name: string) => void;
  /** One sentence that says how to read the chart. */
  readonly note?: string;
}

/**
 * One chart: owns the drawing (made once, changed in place, destroyed with the component) and offers what every chart
 * offers: zoom by mouse, touch and keyboard, the same data as a table, PNG, SVG and CSV.
 */
export function ChartFigure({
  picture,
  height = 280,
  zoom = true,
  onWindow,
  isPart,
  onPoint,
  note,
}: ChartFigureProps) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const drawing = useRef<Drawing<'line', LineConfig['data']['datasets'][number]['data']> | null>(null);
  const [asTable, setAsTable] = useState(false);
  const dark = useIsDark();
  const finger = useFinger();
  const captionId = useId();
  const reportWindow = useRef(onWindow);
  reportWindow.current = onWindow;
  const controlled = onWindow !== undefined;
  const reportPoint = useRef(onPoint);
  reportPoint.current = onPoint;
  const pressable = onPoint !== undefined;

  useEffect(() => {
    if (asTable || canvas.current === null) return;
    const config = chartConfig(picture, {
      palette: dark ? darkPalette : lightPalette,
      fontFamily: getComputedStyle(document.body).fontFamily,
      zoom,
      finger,
      isPart: isPart === true,
      ...(pressable ? { onPoint: (name: string) => reportPoint.current?.(name) } : {}),
      ...(controlled ? { onWindow: (from, to) => reportWindow.current?.({ from, to }) } : {}),
    });
    if (drawing.current === null) {
      drawing.current = new Drawing(canvas.current, config);
    } else {
      drawing.current.data = config.data;
      drawing.current.options = config.options ?? {};
      drawing.current.update('none');
    }
    // Says that this state of the chart is on the screen; the bench of the pages waits for it.
    canvas.current.dataset.points = String(picture.series.reduce((sum, s) => sum + s.points.length, 0));
  }, [picture, dark, zoom, finger, isPart, asTable, controlled, pressable]);

  // A canvas that leaves the page (for the table, or for good) takes its drawing with it.
  // biome-ignore lint/correctness/useExhaustiveDependencies: the clean-up must run when the canvas goes
  useEffect(
    () => () => {
      drawing.current?.destroy();
      drawing.current = null;
    },
    [asTable],
  );

  const move = (change: (d: NonNullable<typeof drawing.current>) => void) => () => {
    if (drawing.current === null) return;
    change(drawing.current);
    // The plugin tells of zooming by wheel, drag and pinch, not of what is asked for by a call.
    const { min, max } = drawing.current.scales.x;
    reportWindow.current?.({ from: min, to: max });
  };
  const whole = () => {
    if (onWindow !== undefined) onWindow(null);
    else drawing.current?.resetZoom('none');
  };
  const savePng = () =>
    pictureFile(picture, height, dark ? darkPalette : lightPalette, (blob) =>
      downloadBlob(fileName(picture.title, 'png'), blob),
    );

  // What draws an SVG is fetched by those who ask for one only.
  const saveSvg = async () => {
    const { pictureSvg } = await import('./pictureSvg.ts');
    const text = pictureSvg(picture, height, dark ? darkPalette : lightPalette);
    downloadText(fileName(picture.title, 'svg'), 'image/svg+xml', text);
  };

  return (
    <figure className="chart" aria-labelledby={captionId}>
      <figcaption>
        <span id={captionId} className="chart-title">
          {picture.title}
        </span>
        <Group
          gap={2}
          className="chart-tools"
          role="group"
          aria-label={say('charts.toolsOfTheChart', { pictureTitle: picture.title })}
        >
          {zoom && !asTable && (
            <>
              <Tool name={say('charts.zoomIn')} sign="+" onClick={move((d) => d.zoom(1.4))} />
              <Tool name={say('charts.zoomOut')} sign="−" onClick={move((d) => d.zoom(1 / 1.4))} />
              {!finger && (
                <>
                  <Tool name={say('charts.moveLeft')} sign="←" onClick={move((d) => d.pan({ x: 80 }))} />
                  <Tool name={say('charts.moveRight')} sign="→" onClick={move((d) => d.pan({ x: -80 }))} />
                </>
              )}
              <Tool name={say('charts.resetZoom')} sign={say('charts.reset')} onClick={whole} />
            </>
          )}
          <Tool
            name={asTable ? say('charts.showAsAChart') : say('charts.showAsATable')}
            sign={asTable ? say('charts.chart') : say('charts.table')}
            onClick={() => setAsTable(!asTable)}
          />
          {!asTable && <Tool name={say('charts.downloadAsPng')} sign="PNG" onClick={savePng} />}
          {!asTable && <Tool name={say('charts.downloadAsSvg')} sign="SVG" onClick={() => void saveSvg()} />}
          <Tool
            name={say('charts.downloadAsCsv')}
            sign="CSV"
            onClick={() =>
              downloadText(fileName(picture.title, 'csv'), 'text/csv', tableCsv(pictureTable(picture)))
            }
          />
        </Group>
      </figcaption>
      {asTable ? (
        <PictureTableView picture={picture} height={height} />
      ) : (
        <div className="chart-sheet" style={{ height }}>
          <canvas ref={canvas} role="img" aria-label={summary(picture)} />
        </div>
      )}
      {note !== undefined && <p className="chart-note">{note}</p>}
    </figure>
  );
}

function Tool({ name, sign, onClick }: { name: string; sign: string; onClick: () => void }) {
  return (
    <Button size="compact-xs" variant="subtle" aria-label={name} title={name} onClick={onClick}>
      {sign}
    </Button>
  );
}

/** Text for a reader who does not see the chart; the numbers are in the table view. */
function summary(picture: Picture): string {
  const series = picture.series
    .filter((s) => !s.quiet)
    .map((s) => say('charts.namePointsPoints', { name: s.name, points: s.points.length }))
    .join('; ');
  return say('charts.pictureTitleLabelAgainstLabel2Series', {
    pictureTitle: picture.title,
    label: picture.y.label,
    label2: picture.x.label,
    series,
  });
}
