import type { CellType } from '../../../../server/contract/cellTypes.ts';

/** A cell type with what must not be confused: `P3 (LCO, 2 Ah, up to 4.2 V)`. */
export function cellTypeInShort(type: CellType): string {
  return `${type.name} (${type.chemistryName}, ${type.ratedCapacityAh} Ah, up to ${type.limits.chargeVoltageLimitV} V)`;
}
