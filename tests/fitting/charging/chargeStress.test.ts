import { expect, it } from 'vitest';
import { simulateCharge } from '../../../fitting/charging/simulateCharge.ts';
import { randomSetup } from './randomSetup.ts';

it('600 charges with everything at once all end with a reason, keep their limits and close their balances', () => {
  const ends: Record<string, number> = {};
  for (let seed = 1; seed <= 600; seed++) {
    const setup = randomSetup(seed);
    const charge = simulateCharge(setup);
    ends[charge.endReason] = (ends[charge.endReason] ?? 0) + 1;
    expect(charge.endReason, `seed ${seed}`).not.toBe('solver-stalled');
    expect(Math.abs(charge.energy.balanceErrorRelative ?? 0), `energy of seed ${seed}`).toBeLessThan(1e-8);
    expect(Math.abs(charge.energy.thermalBalanceErrorRelative ?? 0), `heat of seed ${seed}`).toBeLessThan(
      2e-6,
    );
    if (setup.watch === 'per-cell')
      for (const cell of charge.cells) expect(cell.peakVoltageV, `seed ${seed}`).toBeLessThan(4.2 + 3e-7);
    // The timeline leaves no time out.
    charge.limits.slice(1).forEach((stretch, s) => {
      expect(stretch.startTimeS, `seed ${seed}`).toBe(charge.limits[s].endTimeS);
    });
  }
  expect(ends['end-current']).toBeGreaterThan(400);
});
