interface State {
  fillStyle: string;
  strokeStyle: string;
  lineWidth: number;
  lineCap: string;
  lineJoin: string;
  lineDashOffset: number;
  font: string;
  textAlign: string;
  textBaseline: string;
  globalAlpha: number;
}

const usual: State = {
  fillStyle: '#000',
  strokeStyle: '#000',
  lineWidth: 1,
  lineCap: 'butt',
  lineJoin: 'miter',
  lineDashOffset: 0,
  font: '10px sans-serif',
  textAlign: 'start',
  textBaseline: 'alphabetic',
  globalAlpha: 1,
};

interface Kept {
  readonly state: State;
  readonly matrix: DOMMatrix;
  readonly dash: readonly number[];
  readonly clip: string | null;
}

const anchors: Readonly<Record<string, string>> = { center: 'middle', right: 'end', end: 'end' };
const baselines: Readonly<Record<string, string>> = { middle: 'central', top: 'hanging', hanging: 'hanging' };
const short = (value: number) => String(Math.round(value * 100) / 100);
const escaped = (text: string) =>
  text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('"', '&quot;');

// Not svgcanvas (MIT): 61 kB without types that keep a tree of live elements, for the two dozen calls below.
/**
 * What the drawing library asks of a canvas' 2D context, written down as the elements of an SVG. Coordinates are put through
 * the matrix as they come, so that a path may be begun under one and filled under another, as on a canvas.
 */
export class SvgContext implements State {
  fillStyle = usual.fillStyle;
  strokeStyle = usual.strokeStyle;
  lineWidth = usual.lineWidth;
  lineCap = usual.lineCap;
  lineJoin = usual.lineJoin;
  lineDashOffset = usual.lineDashOffset;
  font = usual.font;
  textAlign = usual.textAlign;
  textBaseline = usual.textBaseline;
  globalAlpha = usual.globalAlpha;
  canvas: unknown = null;
  readonly #elements: string[] = [];
  readonly #ruler: CanvasRenderingContext2D;
  readonly #kept: Kept[] = [];
  #matrix = new DOMMatrix();
  #dash: readonly number[] = [];
  #path: string[] = [];
  #clip: string | null = null;
  #clips = 0;

  /** @param ruler measures texts */
  constructor(ruler: CanvasRenderingContext2D) {
    this.#ruler = ruler;
  }

  /** The elements in the order in which they were drawn. */
  elements(): string {
    return this.#elements.join('\n');
  }

  save(): void {
    this.#kept.push({
      state: this.#state(),
      matrix: DOMMatrix.fromMatrix(this.#matrix),
      dash: this.#dash,
      clip: this.#clip,
    });
  }
  restore(): void {
    const kept = this.#kept.pop();
    if (kept === undefined) return;
    Object.assign(this, kept.state);
    this.#matrix = kept.matrix;
    this.#dash = kept.dash;
    this.#clip = kept.clip;
  }
  setTransform(a: number, b: number, c: number, d: number, e: number, f: number): void {
    this.#matrix = new DOMMatrix([a, b, c, d, e, f]);
  }
  resetTransform(): void {
    this.#matrix = new DOMMatrix();
  }
  translate(x: number, y: number): void {
    this.#matrix.translateSelf(x, y);
  }
  rotate(radians: number): void {
    this.#matrix.rotateSelf((radians * 180) / Math.PI);
  }
  scale(x: number, y: number): void {
    this.#matrix.scaleSelf(x, y);
  }
  setLineDash(dash: readonly number[]): void {
    this.#dash = dash;
  }
  getLineDash(): readonly number[] {
    return this.#dash;
  }
  beginPath(): void {
    this.#path = [];
  }
  closePath(): void {
    this.#path.push('Z');
  }
  moveTo(x: number, y: number): void {
    this.#path.push(`M${this.#at(x, y)}`);
  }
  lineTo(x: number, y: number): void {
    this.#path.push(`${this.#path.length === 0 ? 'M' : 'L'}${this.#at(x, y)}`);
  }
  quadraticCurveTo(cx: number, cy: number, x: number, y: number): void {
    this.#path.push(`Q${this.#at(cx, cy)} ${this.#at(x, y)}`);
  }
  bezierCurveTo(ax: number, ay: number, bx: number, by: number, x: number, y: number): void {
    this.#path.push(`C${this.#at(ax, ay)} ${this.#at(bx, by)} ${this.#at(x, y)}`);
  }
  rect(x: number, y: number, w: number, h: number): void {
    this.moveTo(x, y);
    this.lineTo(x + w, y);
    this.lineTo(x + w, y + h);
    this.lineTo(x, y + h);
    this.closePath();
  }
  arc(x: number, y: number, r: number, from: number, to: number, backwards = false): void {
    // A whole turn has no direction in SVG, so an arc is drawn in parts of at most a third of a turn.
    const turn = 2 * Math.PI;
    let sweep = to - from;
    if (Math.abs(sweep) >= turn) sweep = backwards ? -turn : turn;
    else if (backwards && sweep > 0) sweep -= turn;
    else if (!backwards && sweep < 0) sweep += turn;
    const parts = Math.max(1, Math.ceil(Math.abs(sweep) / (turn / 3)));
    const place = (angle: number) => this.#at(x + r * Math.cos(angle), y + r * Math.sin(angle));
    this.#path.push(`${this.#path.length === 0 ? 'M' : 'L'}${place(from)}`);
    for (let i = 1; i <= parts; i++)
      this.#path.push(
        `A${short(r)} ${short(r)} 0 0 ${sweep > 0 ? 1 : 0} ${place(from + (sweep * i) / parts)}`,
      );
  }
  fill(): void {
    this.#draw(`fill="${escaped(this.fillStyle)}"`);
  }
  stroke(): void {
    this.#draw(`fill="none" ${this.#strokes()}`);
  }
  clip(): void {
    this.#clips++;
    this.#elements.push(
      `<clipPath id="clip${this.#clips}"${this.#clipped()}><path d="${this.#path.join('')}"/></clipPath>`,
    );
    this.#clip = `clip${this.#clips}`;
  }
  fillRect(x: number, y: number, w: number, h: number): void {
    this.#shape(x, y, w, h, () => this.fill());
  }
  strokeRect(x: number, y: number, w: number, h: number): void {
    this.#shape(x, y, w, h, () => this.stroke());
  }
  clearRect(): void {
    // The sheet begins empty and is drawn once.
  }
  fillText(text: string, x: number, y: number): void {
    this.#text(text, x, y, `fill="${escaped(this.fillStyle)}"`);
  }
  strokeText(text: string, x: number, y: number): void {
    this.#text(text, x, y, `fill="none" ${this.#strokes()}`);
  }
  measureText(text: string): TextMetrics {
    this.#ruler.font = this.font;
    return this.#ruler.measureText(text);
  }

  #state(): State {
    return Object.fromEntries(
      Object.keys(usual).map((key) => [key, this[key as keyof State]]),
    ) as unknown as State;
  }
  #at(x: number, y: number): string {
    const point = this.#matrix.transformPoint({ x, y });
    return `${short(point.x)} ${short(point.y)}`;
  }
  #shape(x: number, y: number, w: number, h: number, draw: () => void): void {
    const path = this.#path;
    this.#path = [];
    this.rect(x, y, w, h);
    draw();
    this.#path = path;
  }
  #clipped(): string {
    return this.#clip === null ? '' : ` clip-path="url(#${this.#clip})"`;
  }
  #faded(): string {
    return this.globalAlpha === 1 ? '' : ` opacity="${this.globalAlpha}"`;
  }
  #strokes(): string {
    const dash = this.#dash.length === 0 ? '' : ` stroke-dasharray="${this.#dash.join(' ')}"`;
    const shift = this.lineDashOffset === 0 ? '' : ` stroke-dashoffset="${this.lineDashOffset}"`;
    return `stroke="${escaped(this.strokeStyle)}" stroke-width="${this.lineWidth}" stroke-linecap="${this.lineCap}" stroke-linejoin="${this.lineJoin}"${dash}${shift}`;
  }
  #draw(how: string): void {
    if (this.#path.length === 0) return;
    this.#elements.push(`<path d="${this.#path.join('')}" ${how}${this.#clipped()}${this.#faded()}/>`);
  }
  #text(text: string, x: number, y: number, how: string): void {
    const { a, b, c, d, e, f } = this.#matrix;
    this.#elements.push(
      `<g${this.#clipped()}><text transform="matrix(${[a, b, c, d, e, f].map(short).join(' ')})" x="${short(x)}" y="${short(y)}" style="font:${escaped(this.font)}" text-anchor="${anchors[this.textAlign] ?? 'start'}" dominant-baseline="${baselines[this.textBaseline] ?? 'auto'}" ${how}${this.#faded()}>${escaped(text)}</text></g>`,
    );
  }
}
