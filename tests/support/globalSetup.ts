/** Says once, at the top of a run, whether missing outside parts are skipped or fail. */
export default function setup(): void {
  const strict = process.env.GEMEL_REQUIRE_ALL === '1';
  console.log(
    strict
      ? 'Everything is required: a missing part fails the run.'
      : 'Missing outside parts are skipped, loudly.',
  );
}
