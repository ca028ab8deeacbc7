import { normal, type Uniform } from './random.ts';
import { scenario } from './scenario.ts';

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

/** Reads a cell as a bench does: noise, resolution, a slow drift of the room's temperature, two-wire contacts. */
export class Instrument {
  readonly samples: Sample[] = [];
  timeS = 0;
  private readonly uniform: Uniform;
  private readonly contactOhm: number;
  private readonly roomPhase: number;

  constructor(uniform: Uniform, contactOhm: number) {
    this.uniform = uniform;
    this.contactOhm = contactOhm;
    this.roomPhase = 2 * Math.PI * uniform();
  }

  /** Notes a sample of the present instant. */
  note(voltageV: number, currentA: number): void {
    const flowing = currentA === 0 ? 0 : normal(this.uniform, currentA, 0.0015);
    const room = scenario.temperatureC + 0.4 * Math.sin(this.timeS / 5200 + this.roomPhase);
    this.samples.push({
      timeS: this.timeS,
      voltageV: quantise(normal(this.uniform, voltageV + flowing * this.contactOhm, 0.00012), voltageStepV),
      currentA: quantise(flowing, currentStepA),
      temperatureC: quantise(normal(this.uniform, room + 0.03 * Math.abs(currentA), 0.04), temperatureStepC),
    });
  }
}
