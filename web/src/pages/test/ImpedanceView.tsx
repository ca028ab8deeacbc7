import type { EvaluatedSweep, ImpedanceResult } from '../../../../server/contract/impedance.ts';
import { percent, significant, withUncertainty } from '../../format/number.ts';
import { bareQuantity, labelled, quantityWithUncertainty } from '../../format/quantity.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { displayUnit, type UnitChoice } from '../../settings/units.ts';
import { useUnits } from '../../settings/useUnits.ts';
import { impedanceParameterName } from '../../words/impedance.ts';
import { plainCode, reasonSentence } from '../../words/reasons.ts';

/** Scatter about a circuit beyond which it does not describe the spectrum, as a fraction of |Z|. Our choice. */
const poorFit = 0.05;

/** What was found in the spectra of a test: values at 1 kHz, intercepts, circuits, and whether they are consistent. */
export function ImpedanceView({ result }: { result: ImpedanceResult }) {
  const [units] = useUnits();
  const unclear = [...new Set(result.sweeps.flatMap((s) => s.socReason ?? []))];
  return (
    <>
      <h2>Impedance</h2>
      <p>
        |Z| at 1 kHz counts as a measurement of the cell, like one from a cell table. It is interpolated in
        the logarithm of the frequency; its uncertainty is the scatter of the points near it, without the
        instrument’s calibration.
      </p>
      {unclear.map((reason) => (
        <p key={reason} className="warning">
          The state of charge of some sweeps is not known: {reasonSentence(reason)}
        </p>
      ))}
      <Values sweeps={result.sweeps} units={units} />
      <h2>Circuit of the spectra</h2>
      <p>
        Series inductance, series resistance, up to two arcs (resistance ∥ constant-phase element) and a
        diffusion tail, fitted to real and imaginary part together with weights 1/|Z|². The number of arcs is
        chosen by AICc; one that the spectrum cannot tell is refused.
      </p>
      <Circuits sweeps={result.sweeps} units={units} />
      <h2>Kramers–Kronig check</h2>
      <p>
        A spectrum obeys the Kramers–Kronig relations where the cell was at rest, did not change during the
        sweep, and answered in proportion to a small excitation.
      </p>
      <Checks sweeps={result.sweeps} />
    </>
  );
}

function Values({ sweeps, units }: { sweeps: readonly EvaluatedSweep[]; units: UnitChoice }) {
  return (
    <Sheet
      label="Values of the spectra"
      head={[
        'Sweep',
        'SOC',
        'Temperature, °C',
        '|Z| at 1 kHz',
        labelled('Z′ at 1 kHz', 'Ohm', units),
        labelled('High-frequency intercept', 'Ohm', units),
        'at, Hz',
        'Measured, Hz',
        'Remarks',
      ]}
      numeric={[1, 2, 3, 4, 5, 6]}
      rows={sweeps.map((s) => [
        s.label,
        s.soc === null ? '–' : percent(s.soc),
        s.temperatureC === null ? '–' : significant(s.temperatureC, 3),
        quantityWithUncertainty(s.at1kHz.magnitudeOhm, s.at1kHz.standardUncertaintyOhm, 'Ohm', units),
        bareQuantity(s.at1kHz.realOhm, 'Ohm', units),
        bareQuantity(s.intercept.resistanceOhm, 'Ohm', units),
        s.intercept.frequencyHz === null ? '–' : significant(s.intercept.frequencyHz, 3),
        `${significant(s.frequencyMinHz, 3)} to ${significant(s.frequencyMaxHz, 3)}`,
        [reasonSentence(s.at1kHz.reason), reasonSentence(s.intercept.reason)]
          .filter((text) => text !== '')
          .join(' '),
      ])}
    />
  );
}

function Checks({ sweeps }: { sweeps: readonly EvaluatedSweep[] }) {
  return (
    <Sheet
      label="Kramers–Kronig check"
      head={['Sweep', 'Elements', 'Root mean square', 'Largest', 'Verdict']}
      numeric={[1, 2, 3]}
      rows={sweeps.map(({ label, consistency: c }) => [
        label,
        c.elements ?? '–',
        c.rmsResidual === null ? '–' : percent(c.rmsResidual, 2),
        c.largestResidual === null ? '–' : percent(c.largestResidual, 2),
        c.sentence,
      ])}
    />
  );
}

function Circuits({ sweeps, units }: { sweeps: readonly EvaluatedSweep[]; units: UnitChoice }) {
  const found = new Map(sweeps.flatMap((s) => s.circuit?.parameters.map((p) => [p.name, p.unit]) ?? []));
  const names = [...found.keys()].sort((a, b) => rank(a) - rank(b));
  const shown = (s: EvaluatedSweep, name: string): string => {
    const p = s.circuit?.parameters.find((one) => one.name === name);
    if (p === undefined) return '–';
    const { factor } = displayUnit(p.unit, units);
    return p.standardError === null
      ? `${significant(p.value * factor)} (${plainCode(p.reason ?? '')})`
      : withUncertainty(p.value * factor, p.standardError * factor);
  };
  const heads = names.map((name) => labelled(impedanceParameterName(name), found.get(name) ?? '1', units));
  return (
    <Sheet
      label="Circuits of the spectra"
      head={['Sweep', ...heads, 'Scatter', 'Remarks']}
      numeric={[...names.keys()].map((i) => i + 1).concat(names.length + 1)}
      rows={sweeps.map((s) => [
        s.label,
        ...names.map((name) => shown(s, name)),
        s.circuit === null || s.circuit.residualSd === null ? '–' : percent(s.circuit.residualSd, 2),
        remark(s),
      ])}
    />
  );
}

/** In the order of the circuit: inductance, resistance, arcs, diffusion. */
function rank(name: string): number {
  if (name === 'seriesInductanceH') return 0;
  if (name === 'seriesResistanceOhm') return 1;
  const arc = /^arc(\d)(Resistance|TimeConstant|Exponent)/.exec(name);
  if (arc === null) return 100;
  return 10 * Number(arc[1]) + ['Resistance', 'TimeConstant', 'Exponent'].indexOf(arc[2]);
}

function remark(s: EvaluatedSweep): string {
  if (s.circuit === null) return reasonSentence(s.circuitReason);
  const parts: string[] = [];
  const { residualSd, arcs, diffusionTail } = s.circuit;
  if (residualSd !== null && residualSd > poorFit)
    parts.push('The circuit does not describe this spectrum: do not use its parameters.');
  for (const c of s.candidates) {
    if (c.chosen || c.arcs <= arcs || c.diffusionTail !== diffusionTail || c.reason === null) continue;
    parts.push(`${c.arcs} arcs refused: ${reasonSentence(c.reason)}`);
  }
  return parts.join(' ');
}
