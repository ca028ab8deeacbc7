import { z } from 'zod';

/** Identifier of a stored thing. */
export const id = z.int().positive();

/** A wall-clock instant, ISO 8601 in UTC. */
export const instant = z.iso.datetime();

/** A name that people gave: 1 to 120 characters, no line breaks, no spaces at the ends. */
export const givenName = z
  .string()
  .trim()
  .min(1, 'a name needs at least one character')
  .max(120, 'a name has at most 120 characters')
  .regex(
    // Marks that turn the direction of writing, or cannot be seen, make two names look like one.
    /^[^\p{Cc}\u061c\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufeff]*$/u,
    'a name has no line breaks, control characters or invisible marks',
  );

/**
 * How a record counted a state of charge: from a known state, and the charge moved since in Ah, positive on charge. The
 * state is `fromSoc + chargeAh / capacity`, with the cell's own capacity at its age, or else the rated one.
 */
export const countedSoc = z.object({
  fromSoc: z.number(),
  chargeAh: z.number(),
  ratedCapacityAh: z.number().nullable(),
});
export type CountedSoc = z.infer<typeof countedSoc>;

/** A remark of people: up to 4,000 characters. */
export const remark = z.string().max(4000, 'a remark has at most 4,000 characters');

/** The path parameter of routes about one thing. */
export const idParameter = z.object({ id: z.coerce.number().int().positive() });

/** Every creation and every list page carries the version that If-Match names. */
export const version = z.int().positive();

/** Cursor paging: `limit` rows after `cursor` (the `nextCursor` of the page before). */
export const pageQuery = z.object({
  cursor: z.string().max(200).optional(),
  limit: z.coerce.number().int().min(1).max(500).default(50),
});

type ChangeShape<Shape extends z.core.$ZodShape> = {
  -readonly [Key in keyof Shape]: z.ZodOptional<
    Shape[Key] extends z.ZodDefault<infer Inner> ? Inner : Shape[Key]
  >;
};

/**
 * The fields of a change: each may be left out, and one that is left out stays as it is. Defaults are taken off, since
 * a default inside an optional field would fill in what was left out.
 */
export function changeOf<Shape extends z.core.$ZodShape>(fields: z.ZodObject<Shape>) {
  const shape = Object.fromEntries(
    Object.entries(fields.shape).map(([key, field]) => [
      key,
      z.optional(field instanceof z.ZodDefault ? field.unwrap() : field),
    ]),
  );
  return z.object(shape as ChangeShape<Shape>);
}

/** A page of a list. */
export function pageOf<T extends z.ZodType>(item: T) {
  return z.object({
    items: z.array(item),
    /** Null on the last page. */
    nextCursor: z.string().nullable(),
    /** Number of rows that match the filter, over all pages. */
    total: z.int(),
    /** Rows of this page whose stored document cannot be read; there only where there are any. */
    unreadable: z.array(z.object({ id: z.int(), reason: z.string() })).optional(),
  });
}

/** RFC 9457 problem details, with a stable code and the fields or rows that are wrong. */
export const problem = z.object({
  type: z.string(),
  title: z.string(),
  status: z.int(),
  detail: z.string(),
  instance: z.string().optional(),
  code: z.string(),
  errors: z
    .array(
      z.object({
        /** Path of the field, e.g. `features.0.tolerance`, or the column of a file. */
        field: z.string().nullable(),
        /** Row of a file, counted from 1 for the first data row. */
        row: z.int().nullable(),
        value: z.string().nullable(),
        reason: z.string(),
        /** What would be right. */
        expected: z.string().nullable(),
      }),
    )
    .optional(),
});

/** How a measured or derived number travels: value, its standard uncertainty and, where missing, why. */
export const quantityValue = z.object({
  value: z.number().nullable(),
  unit: z.string(),
  standardUncertainty: z.number().nullable(),
  reason: z.string().nullable(),
});

export type Problem = z.infer<typeof problem>;
export type QuantityValue = z.infer<typeof quantityValue>;

/** A page of a list, as a type. */
export interface Page<T> {
  items: T[];
  nextCursor: string | null;
  total: number;
  unreadable?: { id: number; reason: string }[] | undefined;
}
