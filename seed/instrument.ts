import { normal, type Uniform } from './random.ts';

/** One row as an instrument samples it. Current is positive on charge. */
export interface Sample {
  readonly timeS: number;
  readonly voltageV: number;
  readonly currentA: number;
  readonly temperatureC: number;
}

const voltageStepV = 0.0001;
const currentStepA = 0.0005;
const temperatureStepC = 0.05;

const quantise = (value: number, step: number): number => Math.round(value / step) * step;

/** How far the chamber swings about its mean: by so little that the resistances need not follow. */
const chamberSwingC = 0.05;

/** Reads a cell as a bench does: noise, resolution, a slow swing of the chamber's temperature, two-wire contacts. */
export class Instrument {
  readonly samples: Sample[] = [];
  timeS = 0;
  private readonly uniform: Uniform;
  private readonly contactOhm: number;
  private readonly chamberC: number;
  private readonly phase: number;

  constructor(uniform: Uniform, contactOhm: number, chamberC: number) {
    this.uniform = uniform;
    this.contactOhm = contactOhm;
    this.chamberC = chamberC;
    this.phase = 2 * Math.PI * uniform();
  }

  /** Notes a sample of the present instant. */
  note(voltageV: number, currentA: number): void {
    const flowing = currentA === 0 ? 0 : normal(this.uniform, currentA, 0.0015);
    const chamberC = this.chamberC + chamberSwingC * Math.sin(this.timeS / 5200 + this.phase);
    this.samples.push({
      timeS: this.timeS,
      voltageV: quantise(normal(this.uniform, voltageV + flowing * this.contactOhm, 0.00012), voltageStepV),
      currentA: quantise(flowing, currentStepA),
      temperatureC: quantise(
        normal(this.uniform, chamberC + 0.03 * Math.abs(currentA), 0.04),
        temperatureStepC,
      ),
    });
  }
}
