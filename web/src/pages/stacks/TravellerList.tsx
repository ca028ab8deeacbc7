import type { Traveller } from '../../../../server/contract/travellers.ts';
import { useRequest } from '../../api/useRequest.ts';
import { fixed, significant, written } from '../../format/number.ts';
import { missing } from '../../format/quantity.ts';
import { instant } from '../../format/time.ts';
import { Problem } from '../../parts/Problem.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { say } from '../../words/i18n.ts';
import { stepWords } from './travellerChecks.ts';

/** What was read while the stack was built: the voltages of its cells side by side, and how far they lie apart. */
export function TravellerList({ stackId }: { stackId: number }) {
  const { data, error, again } = useRequest('/stacks/{id}/travellers', { params: { id: stackId } });
  if (data === undefined) return <Problem error={error} again={again} />;
  if (data.items.length === 0) return null;
  return (
    <>
      <h2>{say('stacks.resultsOfTheTraveller')}</h2>
      {data.items.map((one) => (
        <OneTraveller key={one.id} traveller={one} />
      ))}
    </>
  );
}

function OneTraveller({ traveller }: { traveller: Traveller }) {
  const { cells, jointsOhm, joints, steps, createdAt, createdBy } = traveller;
  const apart = apartMillivolts(cells.map((cell) => cell.openCircuitVoltageV));
  const volts = (value: number | null) => (value === null ? missing : written(String(value)));
  return (
    <section aria-label={say('stacks.travellerAtBy', { at: instant(createdAt), by: createdBy })}>
      <p>
        {say('stacks.travellerAtBy', { at: instant(createdAt), by: createdBy })}
        {apart !== null && <> {say('stacks.openCircuitVoltagesLieApart', { apart: fixed(apart, 1) })}</>}
        {jointsOhm !== null && (
          <> {say('stacks.jointsTogether', { resistance: significant(1000 * jointsOhm, 3) })}</>
        )}
        {joints.length > 0 && (
          <>
            {' '}
            {say('stacks.eachJoint', {
              joints: joints
                .map(({ after, ohm }) =>
                  say('stacks.jointBetween', {
                    first: cells[after - 1].serial,
                    second: cells[after].serial,
                    resistance: significant(1000 * ohm, 3),
                  }),
                )
                .join(', '),
            })}
          </>
        )}
      </p>
      <Sheet
        label={say('stacks.resultsOfTheTraveller')}
        head={[
          say('stacks.cell'),
          say('stacks.serialWasRead'),
          say('stacks.openCircuitVoltageV'),
          say('stacks.seenByTheChargerV'),
        ]}
        numeric={[2, 3]}
        rows={cells.map((cell) => [
          cell.serial,
          cell.serialRead ? '●' : missing,
          volts(cell.openCircuitVoltageV),
          volts(cell.chargerVoltageV),
        ])}
      />
      {steps.length > 0 && (
        <ul>
          {steps.map((step) => (
            <li key={step}>● {stepWords[step]}</li>
          ))}
        </ul>
      )}
    </section>
  );
}

/** The widest distance between voltages that were all read; null where fewer than two were. */
function apartMillivolts(volts: readonly (number | null)[]): number | null {
  const read = volts.filter((value) => value !== null);
  return read.length < 2 ? null : 1000 * (Math.max(...read) - Math.min(...read));
}
