import type { CircuitFit } from '../../../../server/contract/evaluatedPulse.ts';
import type { EvaluatedPulseRecord } from '../../../../server/contract/pulseRecord.ts';
import { percent, significant, withUncertainty } from '../../format/number.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { displayUnit } from '../../settings/units.ts';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { plainCode, reasonSentence } from '../../words/reasons.ts';
import { Gap } from './PulseTable.tsx';

/** The circuit model of each pulse with standard errors, and what the residuals say about it. */
export function CircuitTable({ result }: { result: EvaluatedPulseRecord }) {
  const [units] = useUnits();
  const { symbol, factor } = displayUnit('Ohm', units);
  const most = Math.max(0, ...result.pulses.map((p) => p.circuit?.branches ?? 0));
  const branches = [1, 2, 3].slice(0, most) as (1 | 2 | 3)[];
  const number = (value: number | null, error: number | null, by: number) =>
    value === null ? '–' : error === null ? significant(value * by) : withUncertainty(value * by, error * by);
  if (result.pulses.length === 0) return null;
  return (
    <Sheet
      label={say('test.circuitModels')}
      head={[
        say('test.pulse'),
        'SOC',
        'OCV, V',
        `R0, ${symbol}`,
        ...branches.flatMap((b) => [`R${b}, ${symbol}`, say('test.tauBS', { b })]),
        say('test.residualSdMv'),
        say('test.remarks'),
      ]}
      numeric={[0, 1, 2, 3, ...branches.flatMap((_, i) => [4 + 2 * i, 5 + 2 * i]), 4 + 2 * branches.length]}
      rows={result.pulses.map((p) => {
        const c = p.circuit;
        const soc = p.socBefore === null ? '–' : percent(p.socBefore);
        if (c === null) {
          const gaps = branches.flatMap(() => ['–', '–']);
          return [
            p.index + 1,
            soc,
            '–',
            <Gap key="r0" reason={p.circuitReason} />,
            ...gaps,
            '–',
            reasonSentence(p.circuitReason),
          ];
        }
        return [
          p.index + 1,
          soc,
          number(c.ocvV, c.ocvStandardErrorV, 1),
          number(c.r0Ohm, c.r0StandardErrorOhm, factor),
          ...branches.flatMap((b) => [
            number(c[`r${b}Ohm`], c[`r${b}StandardErrorOhm`], factor),
            number(c[`tau${b}S`], c[`tau${b}StandardErrorS`], 1),
          ]),
          significant(c.residualSdV * 1000, 3),
          remark(c),
        ];
      })}
    />
  );
}

const residualWords = {
  white: say('test.residualsAreNoise'),
  correlated: say('test.residualsAreCorrelatedTheStandardErrors'),
  'too-few': say('test.tooFewRowsToJudgeThe'),
} as const;

/** How far the circuit may be taken for the cell's, and what its parameters hold under. */
function verdictWords({ fitVerdict, conditional }: CircuitFit): string[] {
  const words: string[] = [];
  if (fitVerdict?.code === 'poor') {
    const share =
      fitVerdict.shareOfPulse === null
        ? ''
        : say('test.ofThePulse', { shareOfPulse: percent(fitVerdict.shareOfPulse) });
    words.push(
      say('test.theFitMissesTheVoltageBy', {
        largestResidualV: significant(fitVerdict.largestResidualV * 1000, 2),
        share,
      }),
    );
  }
  if (fitVerdict?.reason === 'as-many-branches-as-tried') words.push(say('test.itTakesAsManyBranchesAs'));
  if (fitVerdict?.reason === 'better-fit-refused') words.push(reasonSentence('better-fit-refused'));
  for (const on of new Set(conditional.map((one) => one.on))) {
    const names = conditional
      .filter((one) => one.on === on)
      .map((one) => one.parameter.replace(/(Ohm|S)$/, ''));
    words.push(say('test.namesConditionalOn', { names: names.join(', '), on: reasonSentence(on) }));
  }
  return words;
}

function remark(c: CircuitFit): string {
  const refused = c.candidates.filter((x) => !x.chosen && x.branches > c.branches && x.reason !== null);
  const parts: string[] = [residualWords[c.residualCheck.verdict], ...verdictWords(c)];
  if (!['gradient', 'step', 'cost'].includes(c.termination))
    parts.push(say('test.endedByTermination', { termination: plainCode(c.termination) }));
  for (const x of refused) {
    parts.push(
      say('test.aFitWithBranchesRcWord', {
        branches: x.branches,
        word: x.branches === 1 ? say('test.branch') : say('test.branches'),
        reason: reasonSentence(x.reason),
      }),
    );
  }
  return parts.join(' ');
}
