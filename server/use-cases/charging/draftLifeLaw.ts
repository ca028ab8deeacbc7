import { GAS_CONSTANT, ZERO_CELSIUS_K } from '../../../fitting/numeric/index.ts';
import type { Context } from '../../context.ts';
import { ageingSettings, storedLotAgeing } from '../../contract/ageingAssessment.ts';
import type { StressDependence } from '../../contract/ageingResult.ts';
import type { ChargeStudyDraft } from '../../contract/chargeStudies.ts';
import type { LifeLawInput } from '../../contract/chargeStudy.ts';
import { inOrder } from '../../inOrder.ts';
import { listLotFits, type StoredFit } from '../../store/fits.ts';
import { findLotHead } from '../../store/lots.ts';
import { listLotIds } from '../../store/parameterSources.ts';
import { parseStored } from '../../store/storedJson.ts';
import type { ChargeStudySubject } from './chargeStudySubject.ts';

type Note = ChargeStudyDraft['notes'][number];

/** A life law for the rate search, or null; the notes say what it holds for, or why there is none. */
export interface DraftedLife {
  readonly life: LifeLawInput | null;
  readonly notes: readonly Note[];
}

/** An assessed lot with a dependence of life on stress, and the stress of each cell in it. */
interface StressedLot {
  readonly fit: StoredFit;
  readonly lotName: string;
  readonly axis: string;
  readonly stress: StressDependence;
  /** Values of the terms of each cell that the dependence is based on. */
  readonly values: readonly (readonly number[])[];
}

/**
 * Life against charge rate from the newest assessment of the subject's lots, or else of other lots of its cell type, in
 * which life depends on a charge rate. The dependence is that of ln life on the terms; it passes through the geometric
 * mean of life at the mean of the terms, which makes the law without its constant. Terms other than the rate and the
 * temperature are held at their mean.
 */
export async function draftLifeLaw(context: Context, subject: ChargeStudySubject): Promise<DraftedLife> {
  const own = [...new Set(subject.cells.map(({ cell }) => cell.lot.id))];
  const types = [...new Set(subject.cells.map(({ cellType }) => cellType.id))];
  const others = (await inOrder(types, async (id) => (await listLotIds(context.store, id)).reverse())).flat();
  const lots = (
    await inOrder([...new Set([...own, ...others])], async (id) => stressedLots(context, id))
  ).flat();
  if (lots.length === 0)
    return without('No lot of this cell type has an assessment of life against stress of its cells.');
  const found = lots.find(({ stress }) => rateTerm(stress) >= 0);
  if (found === undefined)
    return without('No assessment of life against stress has a charge rate (a term in C) among its terms.');
  return lawOf(found);
}

function without(why: string): DraftedLife {
  return {
    life: null,
    notes: [{ code: 'no-life-law', message: `No trade-off of rate against life: ${why}` }],
  };
}

/** The assessments of a lot with a dependence on stress, newest first: at most one of each quantity. */
async function stressedLots(context: Context, lotId: number): Promise<StressedLot[]> {
  const lotName = (await findLotHead(context.store, lotId))?.name ?? String(lotId);
  return (await listLotFits(context.store, lotId, 'ageing-lot')).flatMap(
    (fit) => stressedLot(fit, lotName) ?? [],
  );
}

function stressedLot(fit: StoredFit, lotName: string): StressedLot | null {
  const { stress, cells, axis } = parseStored(storedLotAgeing, fit.resultJson, `result of fit ${fit.id}`);
  const asked = parseStored(ageingSettings, fit.settingsJson, `settings of fit ${fit.id}`).stress;
  if (stress === null || asked === null) return null;
  const values = stress.cells.flatMap(({ cell }) => {
    const cellId = cells.find(({ serial }) => serial === cell)?.cellId;
    const terms = asked.cells.find((one) => one.cellId === cellId)?.values;
    return terms === undefined ? [] : [terms];
  });
  if (values.length !== stress.cells.length) return null;
  return { fit, lotName, axis, stress, values };
}

/** Index of the term that is a charge rate: in C, by its name of charging and not of discharging. −1: none. */
function rateTerm({ terms }: StressDependence): number {
  return terms.findIndex(
    ({ name, unit }) => unit === 'C' && !/discharg/i.test(name) && /charg|rate/i.test(name),
  );
}

/** Index of a term 1/(R T), whose coefficient is an activation energy. −1: none. */
function arrheniusTerm({ terms }: StressDependence): number {
  return terms.findIndex(({ unit }) => unit === 'mol/J');
}

function lawOf({ fit, lotName, axis, stress, values }: StressedLot): DraftedLife {
  const rate = rateTerm(stress);
  const { coefficient, standardError, validFrom, validTo } = stress.terms[rate];
  const where = `the assessment of lot ${lotName} (fit ${fit.id})`;
  if (axis !== 'cycle' && axis !== 'equivalent-full-cycles')
    return without(`${where} counts life in ${axis}, not in cycles.`);
  if (stress.verdict === 'cannot-tell' || coefficient === null)
    return without(`${where} cannot tell life from the rate (${stress.reason ?? 'no coefficient'}).`);
  if (coefficient >= 0)
    return without(
      `in ${where} life does not fall with the rate, which cannot be carried over to other cells.`,
    );
  const mean = (pick: (i: number) => number) =>
    values.reduce((sum, _, i) => sum + pick(i), 0) / values.length;
  const lifeAtMean = Math.exp(mean((i) => Math.log(stress.cells[i].life)));
  const heat = arrheniusTerm(stress);
  const energy = heat < 0 ? 0 : Math.max(stress.terms[heat].coefficient ?? 0, 0);
  const meanTemperatureC = heat < 0 ? 25 : 1 / (GAS_CONSTANT * mean((i) => values[i][heat])) - ZERO_CELSIUS_K;
  const weak = stress.verdict === 'weak';
  const explained = ((stress.explainedVarianceLeftOut ?? 0) * 100).toFixed(0);
  const error = standardError === null ? '' : ` ± ${standardError.toPrecision(2)}`;
  const basis =
    `ln life of ${values.length} cells to ${stress.limitName}: ${coefficient.toPrecision(3)}${error} per C; ` +
    `${explained} % of the variance explained with each cell left out (${stress.verdict}); fit ${fit.id}`;
  const held = stress.terms.filter((_, j) => j !== rate && j !== heat).map(({ name }) => name);
  const notes: Note[] = [
    {
      code: 'life-law',
      message: `Life against rate from ${where}: ${basis}. It holds from ${validFrom} C to ${validTo} C; outside no life is given.`,
    },
  ];
  if (weak)
    notes.push({
      code: 'life-law-weak',
      message: 'The dependence of life on the rate is weak: the trade-off shows a tendency, no more.',
    });
  if (held.length > 0)
    notes.push({ code: 'life-law-held', message: `Held at their mean: ${held.join(', ')}.` });
  if (energy === 0)
    notes.push({
      code: 'life-law-without-temperature',
      message:
        'The life law knows nothing of temperature: a charge that heats the cell more may cost more life.',
    });
  const life: LifeLawInput = {
    cyclesAtReference: lifeAtMean,
    referenceRateC: mean((i) => values[i][rate]),
    rateCoefficientPerC: coefficient,
    validRateC: { from: validFrom, to: validTo },
    referenceTemperatureC: meanTemperatureC,
    activationEnergyJPerMol: energy,
    basis: basis.slice(0, 400),
  };
  return { life, notes };
}
