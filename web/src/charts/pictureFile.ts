import { say } from '../words/i18n.ts';
import { chartConfig, type LineConfig } from './chartConfig.ts';
import { Drawing } from './drawing.ts';
import type { Palette } from './palette.ts';
import type { Picture } from './picture.ts';

/** Pixels across, whatever the width on the screen: enough for a report or a slide. */
const fileWidthPx = 1600;
const scale = 2;
const titlePx = 64;

/** Draws a picture again for a file: 1,600 pixels wide on opaque paper, with its title inside. */
export function pictureFile(
  picture: Picture,
  heightPx: number,
  palette: Palette,
  done: (blob: Blob) => void,
): void {
  const sheet = document.createElement('div');
  sheet.style.cssText = `position: fixed; left: -9999px; width: ${fileWidthPx / scale}px; height: ${heightPx}px;`;
  const canvas = document.createElement('canvas');
  sheet.append(canvas);
  document.body.append(sheet);
  const fontFamily = getComputedStyle(document.body).fontFamily;
  const config = chartConfig(picture, { palette, fontFamily, zoom: false });
  const drawing = new Drawing<'line', LineConfig['data']['datasets'][number]['data']>(canvas, {
    ...config,
    options: { ...config.options, responsive: true, devicePixelRatio: scale },
  });
  const copy = document.createElement('canvas');
  copy.width = canvas.width;
  copy.height = canvas.height + titlePx;
  const context = copy.getContext('2d');
  if (context === null) throw new Error(say('charts.thisBrowserCannotDrawAPicture'));
  context.fillStyle = palette.paper;
  context.fillRect(0, 0, copy.width, copy.height);
  context.fillStyle = palette.ink;
  context.font = `600 30px ${fontFamily}`;
  context.textBaseline = 'middle';
  context.fillText(picture.title, 24, titlePx / 2, copy.width - 48);
  context.drawImage(canvas, 0, titlePx);
  drawing.destroy();
  sheet.remove();
  copy.toBlob((blob) => {
    if (blob !== null) done(blob);
  }, 'image/png');
}
