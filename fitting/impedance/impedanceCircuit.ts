import { unitArc } from './arc.ts';

/** One arc of the circuit: resistance in parallel with a constant-phase element (see `arc.ts`). */
export interface Arc {
  readonly resistanceOhm: number;
  readonly timeConstantS: number;
  /** 0 < exponent ≤ 1; 1 is a capacitance. */
  readonly exponent: number;
}

/**
 * A small circuit in series: inductance, resistance, arcs, and where present the semi-infinite diffusion of Warburg
 * (Ann. Phys. 303 (1899) 493), σ·(1 − j)/√ω.
 */
export interface ImpedanceCircuit {
  readonly seriesInductanceH: number;
  readonly seriesResistanceOhm: number;
  readonly arcs: readonly Arc[];
  /** σ in Ω·s^(−1/2); null: no diffusion tail. */
  readonly diffusionCoefficient: number | null;
}

/** Z of a circuit at each frequency: real and imaginary part in Ω. */
export function circuitImpedance(
  circuit: ImpedanceCircuit,
  frequencyHz: ArrayLike<number>,
): { readonly realOhm: Float64Array; readonly imaginaryOhm: Float64Array } {
  const realOhm = new Float64Array(frequencyHz.length);
  const imaginaryOhm = new Float64Array(frequencyHz.length);
  for (let i = 0; i < frequencyHz.length; i++) {
    const omega = 2 * Math.PI * frequencyHz[i];
    let real = circuit.seriesResistanceOhm;
    let imaginary = omega * circuit.seriesInductanceH;
    for (const arc of circuit.arcs) {
      const g = unitArc(omega, arc.timeConstantS, arc.exponent);
      real += arc.resistanceOhm * g.real;
      imaginary += arc.resistanceOhm * g.imaginary;
    }
    if (circuit.diffusionCoefficient !== null) {
      const tail = circuit.diffusionCoefficient / Math.sqrt(omega);
      real += tail;
      imaginary -= tail;
    }
    realOhm[i] = real;
    imaginaryOhm[i] = imaginary;
  }
  return { realOhm, imaginaryOhm };
}
