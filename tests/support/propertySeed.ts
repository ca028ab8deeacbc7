import fc from 'fast-check';

// Property tests draw the same cases in every run, so that a red run is red again when it is looked into. To look for
// new cases: GEMEL_PROPERTY_SEED=random npm test, or a number to draw those of that seed.
const wanted = process.env.GEMEL_PROPERTY_SEED ?? '20260131';
if (wanted !== 'random') {
  const seed = Number(wanted);
  if (!Number.isInteger(seed))
    throw new Error(`GEMEL_PROPERTY_SEED is ${wanted}; expected a whole number or random`);
  fc.configureGlobal({ ...fc.readConfigureGlobal(), seed });
}
