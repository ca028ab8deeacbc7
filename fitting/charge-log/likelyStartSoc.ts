import type { CompiledCell } from '../charging/index.ts';
import { medianOf } from '../numeric/index.ts';
import type { ChargeLog } from './chargeLog.ts';
import { condenseLog } from './condenseLog.ts';
import { DrivenCell, newTerms } from './drivenCell.ts';

const STEP = 0.01;
const [LOWEST, HIGHEST] = [-0.1, 1];

/**
 * Start SOC at which a cell, as it is in its study, comes nearest to a measured charge: the least median of |measured − computed|
 * voltage over SOC in steps of a percent. It is where a fit begins when no rest before the charge shows the SOC; the median does not
 * heed rows at which the curve of the study ends.
 */
export function likelyStartSoc(log: ChargeLog, cell: CompiledCell, place: number, firstS: number): number {
  const condensed = condenseLog(log, firstS);
  const { settled, voltageV, temperatureC, edges } = condensed;
  const driven = new DrivenCell(cell, condensed, temperatureC[place], log.ambientTemperatureC);
  const terms = newTerms(condensed.timeS.length);
  const edgeFractions = edges.map(() => 0.5);
  let best = { soc: 0, apartV: Number.POSITIVE_INFINITY };
  for (let k = 0; k <= Math.round((HIGHEST - LOWEST) / STEP); k++) {
    const soc = LOWEST + k * STEP;
    driven.respond(
      {
        capacityAh: cell.model.capacityAh,
        startSoc: soc,
        r0Factor: 1,
        branchFactor: 1,
        slowOhm: 0,
        slowTauS: 1,
        currentOffsetA: 0,
        edgeFractions,
      },
      terms,
    );
    const apartV = medianOf(
      Float64Array.from(settled, (r) =>
        Math.abs(voltageV[place][r] - terms.ocvV[r] - terms.ohmicV[r] - terms.branchesV[r]),
      ),
    );
    if (apartV < best.apartV) best = { soc, apartV };
  }
  return best.soc;
}
