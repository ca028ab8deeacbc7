import { z } from 'zod';

export const supplyPartKind = z.enum(['converter', 'cable', 'source']);
export type SupplyPartKind = z.infer<typeof supplyPartKind>;
