import { reduceResistance } from '../../../fitting/resistance/index.ts';
import type { Context } from '../../context.ts';
import { type ColumnKey, formatColumnKey } from '../../store/columnKey.ts';
import { readTemperatureLaws } from './readTemperature.ts';

/** A resistance in Ohm with the temperature it was measured at. */
export interface MeasuredResistance {
  readonly value: number;
  readonly standardUncertainty: number | null;
  readonly temperatureC: number | null;
}

/** What became of a resistance that was to be carried to another temperature. */
export interface Reduction {
  readonly value: number;
  readonly standardUncertainty: number | null;
  /** `there`: measured at that temperature; `reduced`; `not-reduced`: left as it was, because no law covers it. */
  readonly outcome: 'there' | 'reduced' | 'not-reduced';
}

/** Closer than this to the wanted temperature a resistance counts as measured there, in °C. */
const SAME_TEMPERATURE_C = 0.5;

/**
 * How resistances of one column are carried to a temperature by the cell type's law for that column. Only within the
 * measured range of a law whose activation energy has an error, and that error enters the uncertainty; everything else stays
 * as it was measured and says so.
 */
export async function temperatureReduction(
  context: Context,
  cellTypeId: number,
  key: ColumnKey,
  toC: number,
): Promise<(measured: MeasuredResistance) => Reduction> {
  const wanted = formatColumnKey({ ...key, temperatureC: null });
  const law = (await readTemperatureLaws(context, cellTypeId))?.laws.find((one) => one.key === wanted);
  return ({ value, standardUncertainty, temperatureC }) => {
    if (temperatureC !== null && Math.abs(temperatureC - toC) <= SAME_TEMPERATURE_C)
      return { value, standardUncertainty, outcome: 'there' };
    const asMeasured: Reduction = { value, standardUncertainty, outcome: 'not-reduced' };
    if (law === undefined || temperatureC === null || law.activationStandardErrorJPerMol === null)
      return asMeasured;
    const reduced = reduceResistance(
      law,
      {
        temperatureC,
        valueOhm: value,
        ...(standardUncertainty === null ? {} : { standardUncertaintyOhm: standardUncertainty }),
      },
      toC,
    );
    if (reduced.extrapolated) return asMeasured;
    return {
      value: reduced.valueOhm,
      // The energy's part alone would pass for the whole where the reading's own is not known.
      standardUncertainty: standardUncertainty === null ? null : reduced.standardUncertaintyOhm,
      outcome: 'reduced',
    };
  };
}
