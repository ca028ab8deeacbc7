import type { CellType } from '../../../../server/contract/cellTypes.ts';
import { say } from '../../words/i18n.ts';

/** A cell type with what must not be confused: `P3 (LCO, 2 Ah, up to 4.2 V)`. */
export function cellTypeInShort(type: CellType): string {
  return say('cellTypes.typeNameChemistryNameRatedCapacity', {
    typeName: type.name,
    chemistryName: type.chemistryName,
    ratedCapacityAh: type.ratedCapacityAh,
    chargeVoltageLimitV: type.limits.chargeVoltageLimitV,
  });
}
