/** Files that the bench of the pages sends in: large, deterministic, and of no meaning. */

/** A cell table of `count` rows with capacity, resistance and mass. */
export function cellTable(count: number): string {
  const rows = Array.from({ length: count }, (_, i) => {
    const wave = Math.sin(i * 12.9898) * 0.5 + Math.sin(i * 78.233) * 0.5;
    return `B${String(i + 1).padStart(5, '0')},${(2.2 + 0.01 * wave).toFixed(4)},${(28 - wave).toFixed(3)},${(41.6 + 0.1 * wave).toFixed(2)}`;
  });
  return `serial,discharge_capacity_Ah,impedance_1kHz_mOhm,mass_g\n${rows.join('\n')}\n`;
}

/** A record of a million samples, one a second: charge and discharge in turn. */
export function millionRows(): string {
  const rows = new Array<string>(1_000_000);
  for (let i = 0; i < rows.length; i++) {
    const phase = (i % 7200) / 7200;
    const charging = phase < 0.5;
    const soc = charging ? phase * 2 : 2 - phase * 2;
    rows[i] =
      `${i},${(3 + 1.1 * soc + 0.03 * (charging ? 1 : -1)).toFixed(4)},${charging ? '1.1000' : '-1.1000'}`;
  }
  return `time_s,voltage_V,current_A\n${rows.join('\n')}\n`;
}
