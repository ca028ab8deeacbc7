import type { EvaluatedSweep, ImpedanceResult } from '../../../../server/contract/impedance.ts';
import { percent, significant, withUncertainty } from '../../format/number.ts';
import { bareQuantity, labelled, quantityWithUncertainty } from '../../format/quantity.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { displayUnit, type UnitChoice } from '../../settings/units.ts';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { impedanceParameterName } from '../../words/impedance.ts';
import { reasonSentence } from '../../words/reasons.ts';

/** Scatter about a circuit beyond which it does not describe the spectrum, as a fraction of |Z|. Our choice. */
const poorFit = 0.05;

/** What was found in the spectra of a test: values at 1 kHz, intercepts, circuits, and whether they are consistent. */
export function ImpedanceView({ result }: { result: ImpedanceResult }) {
  const [units] = useUnits();
  const unclear = [...new Set(result.sweeps.flatMap((s) => s.socReason ?? []))];
  return (
    <>
      <h2>{say('test.impedance')}</h2>
      <p>{say('test.zAt1KhzCountsAs')}</p>
      {unclear.map((reason) => (
        <p key={reason} className="warning">
          {say('test.theStateOfChargeOfSome', { reason: reasonSentence(reason) })}
        </p>
      ))}
      <Values sweeps={result.sweeps} units={units} />
      <h2>{say('test.circuitOfTheSpectra')}</h2>
      <p>{say('test.seriesInductanceSeriesResistanceUpTo')}</p>
      <Circuits sweeps={result.sweeps} units={units} />
      <h2>{say('test.kramersKronigCheck')}</h2>
      <p>{say('test.aSpectrumObeysTheKramersKronig')}</p>
      <Checks sweeps={result.sweeps} />
    </>
  );
}

function Values({ sweeps, units }: { sweeps: readonly EvaluatedSweep[]; units: UnitChoice }) {
  return (
    <Sheet
      label={say('test.valuesOfTheSpectra')}
      head={[
        say('test.sweep'),
        'SOC',
        say('test.temperatureC'),
        say('test.zAt1Khz'),
        labelled(say('test.zAt1Khz2'), 'Ohm', units),
        labelled(say('test.highFrequencyIntercept'), 'Ohm', units),
        say('test.atHz'),
        say('test.measuredHz'),
        say('test.remarks'),
      ]}
      numeric={[1, 2, 3, 4, 5, 6]}
      rows={sweeps.map((s) => [
        s.label,
        s.soc === null ? '–' : percent(s.soc),
        s.temperatureC === null ? '–' : significant(s.temperatureC, 3),
        quantityWithUncertainty(s.at1kHz.magnitudeOhm, s.at1kHz.standardUncertaintyOhm, 'Ohm', units),
        bareQuantity(s.at1kHz.realOhm, 'Ohm', units),
        quantityWithUncertainty(s.intercept.resistanceOhm, s.intercept.standardUncertaintyOhm, 'Ohm', units),
        s.intercept.frequencyHz === null ? '–' : significant(s.intercept.frequencyHz, 3),
        say('test.frequencyMinHzToFrequencyMax', {
          frequencyMinHz: significant(s.frequencyMinHz, 3),
          frequencyMaxHz: significant(s.frequencyMaxHz, 3),
        }),
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
      label={say('test.kramersKronigCheck')}
      head={[
        say('test.sweep'),
        say('test.elements'),
        say('test.rootMeanSquare'),
        say('test.largest'),
        say('test.verdict'),
      ]}
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
      ? `${significant(p.value * factor)} ± ?`
      : withUncertainty(p.value * factor, p.standardError * factor);
  };
  const heads = names.map((name) => labelled(impedanceParameterName(name), found.get(name) ?? '1', units));
  return (
    <Sheet
      label={say('test.circuitsOfTheSpectra')}
      head={[say('test.sweep'), ...heads, say('test.scatter'), say('test.remarks')]}
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
  if (residualSd !== null && residualSd > poorFit) parts.push(say('test.theCircuitDoesNotDescribeThis'));
  const withheld = s.circuit.parameters.flatMap(({ reason }) => (reason === null ? [] : [reason]));
  for (const reason of new Set(withheld)) parts.push(reasonSentence(reason));
  for (const c of s.candidates) {
    if (c.chosen || c.arcs <= arcs || c.diffusionTail !== diffusionTail || c.reason === null) continue;
    parts.push(say('test.arcsArcsRefusedReason', { arcs: c.arcs, reason: reasonSentence(c.reason) }));
  }
  return parts.join(' ');
}
