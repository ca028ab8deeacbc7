import type { Chart } from 'chart.js';
import type { DrawingOptions } from './drawingOptions.ts';
import { seriesColour } from './palette.ts';

/** Zooming and moving by mouse, wheel and fingers. */
export function zoom(options: DrawingOptions) {
  const report = ({ chart }: { chart: { scales: Record<string, { min: number; max: number }> } }) =>
    options.onWindow?.(chart.scales.x.min, chart.scales.x.max);
  // A controlled window is horizontal only: the server is asked for exact samples of a stretch of time.
  const mode = options.onWindow === undefined ? ('xy' as const) : ('x' as const);
  const finger = options.finger === true;
  return {
    zoom: {
      drag: { enabled: options.zoom && !finger, backgroundColor: seriesColour(options.palette, 0, 0.2) },
      wheel: { enabled: options.zoom, modifierKey: 'ctrl' as const },
      pinch: { enabled: options.zoom },
      mode,
      onZoomComplete: report,
    },
    pan: {
      enabled: options.zoom,
      modifierKey: 'shift' as const,
      mode: finger ? ('x' as const) : mode,
      onPanStart: ({ chart, event }: { chart: Chart; event: unknown }) =>
        mayMove(event, options.onWindow === undefined ? chart.isZoomedOrPanned() : options.isPart === true),
      onPanComplete: report,
    },
  };
}

/** Whether a finger that begins to move over a chart moves the chart: only across, and only where it is zoomed. */
export function mayMove(event: unknown, zoomed: boolean): boolean {
  if (typeof event !== 'object' || event === null || !('deltaX' in event) || !('deltaY' in event))
    return true;
  if ('pointerType' in event && event.pointerType === 'mouse') return true;
  return zoomed && Math.abs(Number(event.deltaX)) > Math.abs(Number(event.deltaY));
}
