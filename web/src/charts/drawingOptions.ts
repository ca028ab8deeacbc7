import type { Palette } from './palette.ts';

export interface DrawingOptions {
  readonly palette: Palette;
  readonly fontFamily: string;
  /** Called with the visible range of the horizontal axis after the reader has zoomed or moved. */
  readonly onWindow?: (from: number, to: number) => void;
  readonly zoom: boolean;
  /** Called with the name of the point that was pressed. */
  readonly onPoint?: (name: string) => void;
  /** The pointer is a finger: across moves the chart, two fingers zoom, up and down is the page's. */
  readonly finger?: boolean;
  /** With `onWindow`: whether less than the whole is shown. */
  readonly isPart?: boolean;
}
