import { describe, expect, it } from 'vitest';
import { evaluatedPulseRecord } from '../../server/contract/pulseRecord.ts';
import { pulseRecord } from './pulseRecordFixture.ts';

describe('a stored evaluation of a pulse record', () => {
  it('of version 1.0.0, which knew no lag of the voltage channel, is read with null in its place', () => {
    const stored = JSON.parse(JSON.stringify(pulseRecord(1)));
    delete stored.record.voltageLagS;
    delete stored.record.voltageLagStandardErrorS;
    for (const pulse of stored.pulses) delete pulse.circuit.shortestTauS;
    const read = evaluatedPulseRecord.parse(stored);
    expect(read.record).toMatchObject({ voltageLagS: null, voltageLagStandardErrorS: null });
    expect(read.pulses.map((pulse) => pulse.circuit?.shortestTauS)).toEqual([null, null, null, null, null]);
    expect(read.pulses[0].circuit?.r0Ohm).toBe(stored.pulses[0].circuit.r0Ohm);
  });
});
