import { BasicPlatform } from 'chart.js';
import { say } from '../words/i18n.ts';
import { chartConfig, type LineConfig } from './chartConfig.ts';
import { Drawing } from './drawing.ts';
import type { Palette } from './palette.ts';
import type { Picture } from './picture.ts';
import { SvgContext } from './svgContext.ts';

const widthPx = 1600;
const titlePx = 64;
/** Letters and lines are as large against the sheet as in the PNG, which is drawn at twice the size. */
const scale = 2;

/** The picture as an SVG document: the same drawing as on the screen, 1,600 wide on opaque paper, with its title inside. */
export function pictureSvg(picture: Picture, heightPx: number, palette: Palette): string {
  const fontFamily = getComputedStyle(document.body).fontFamily;
  const ruler = document.createElement('canvas').getContext('2d');
  if (ruler === null) throw new Error(say('charts.thisBrowserCannotDrawAPicture'));
  const context = new SvgContext(ruler);
  const canvas = { width: widthPx / scale, height: heightPx, getContext: () => context };
  context.canvas = canvas;
  const config = chartConfig(picture, { palette, fontFamily, zoom: false });
  const drawing = new Drawing<'line', LineConfig['data']['datasets'][number]['data']>(
    // The library asks nothing of a canvas that this has not, once its platform is the one without a page.
    canvas as unknown as HTMLCanvasElement,
    {
      ...config,
      // Lines with segments are drawn with single calls; others as a path object, which cannot be read.
      data: { datasets: config.data.datasets.map((set) => ({ ...set, segment: {} })) },
      platform: BasicPlatform,
      options: {
        ...config.options,
        responsive: false,
        devicePixelRatio: 1,
        // The zoom asks for pointers of a real canvas.
        plugins: Object.assign({}, config.options?.plugins, { zoom: false }),
      },
    },
  );
  const height = scale * heightPx + titlePx;
  const title = document.createElement('span');
  title.textContent = picture.title;
  const text = [
    `<svg xmlns="http://www.w3.org/2000/svg" width="${widthPx}" height="${height}" viewBox="0 0 ${widthPx} ${height}">`,
    `<rect width="${widthPx}" height="${height}" fill="${palette.paper}"/>`,
    `<text x="24" y="${titlePx / 2 + 10}" fill="${palette.ink}" style="font: 600 30px ${fontFamily.replaceAll('"', "'")}">${title.innerHTML}</text>`,
    `<g transform="translate(0 ${titlePx}) scale(${scale})">`,
    context.elements(),
    '</g></svg>',
  ];
  drawing.destroy();
  return text.join('\n');
}
