import { RatioModel } from '../../../fitting/charging/index.ts';
import type { ChargeStudyDescription } from '../../contract/chargeStudy.ts';
import { converterOf } from '../charging/supplyOf.ts';

/** What the study says of everything between source and cells. */
export interface LogSupply {
  /** Between the point where the stack voltage is sensed and the cells, Ω. */
  readonly stackOhm: number;
  /** Null where the study describes none. */
  readonly cableOhm: number | null;
  /** A fixed ratio; null where the study has none. */
  readonly converter: RatioModel | null;
  /** A stack current below this is none, A. */
  readonly offA: number;
}

/** @param largestA largest current of the log */
export function logSupply(description: ChargeStudyDescription, largestA: number): LogSupply {
  const { ratioStage } = converterOf(description.converter);
  return {
    stackOhm: description.stack.seriesResistance?.toSensePointOhm ?? 0,
    cableOhm: description.cable?.resistanceOhm ?? null,
    converter: ratioStage === null ? null : new RatioModel(ratioStage),
    offA: 0.005 * largestA,
  };
}
