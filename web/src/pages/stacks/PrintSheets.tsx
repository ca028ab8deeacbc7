import type { Stack } from '../../../../server/contract/stacks.ts';
import { quantityWithUncertainty } from '../../format/quantity.ts';
import { day } from '../../format/time.ts';
import { useUnits } from '../../settings/useUnits.ts';
import { stackTitle } from './stackTitle.ts';

/** Only on paper: a sheet of labels, and a traveller for each stack to be filled in at the bench. */
export function PrintSheets({ stacks }: { stacks: readonly Stack[] }) {
  if (stacks.length === 0) return null;
  return (
    <div className="only-print">
      <section className="labels">
        {stacks.map((stack) => (
          <div key={stack.id} className="label">
            <strong>{stack.name}</strong>
            {stack.cells.map((c) => (
              <span key={c.cellId}>
                {c.position}: {c.serial}
              </span>
            ))}
            <span>{day(stack.createdAt)}</span>
          </div>
        ))}
      </section>
      {stacks.map((stack) => (
        <Traveller key={stack.id} stack={stack} />
      ))}
    </div>
  );
}

const checks = [
  'Serials on the cells are those above',
  'No dent, swelling, leak or damaged seal',
  'Open-circuit voltage of cell 1, V',
  'Open-circuit voltage of cell 2, V',
  'Cells brought to the same voltage before joining',
  'Joined; sense wire to the middle present',
  'Resistance of the joints, mΩ',
  'Voltage of each cell seen by the charger',
];

/** The paper that goes with a stack through the workshop. */
export function Traveller({ stack }: { stack: Stack }) {
  const [units] = useUnits();
  return (
    <section className="traveller">
      <h2>{stackTitle(stack.name)}: traveller</h2>
      <table className="plain">
        <thead>
          <tr>
            <th scope="col">Place</th>
            <th scope="col">Cell</th>
            <th scope="col">Lot</th>
            <th scope="col">Chosen by</th>
          </tr>
        </thead>
        <tbody>
          {stack.cells.map((c) => (
            <tr key={c.cellId}>
              <td>{c.position}</td>
              <td>{c.serial}</td>
              <td>{c.lotName}</td>
              <td>
                {Object.entries(c.chosenBy)
                  .map(
                    ([key, v]) =>
                      `${key}: ${quantityWithUncertainty(v.value, v.standardUncertainty, v.unit, units)}`,
                  )
                  .join('; ')}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      <table className="plain traveller-checks">
        <thead>
          <tr>
            <th scope="col">Check</th>
            <th scope="col">Result</th>
            <th scope="col">Date, name</th>
          </tr>
        </thead>
        <tbody>
          {checks.map((text) => (
            <tr key={text}>
              <td>{text}</td>
              <td />
              <td />
            </tr>
          ))}
        </tbody>
      </table>
      <p>
        Lithium cells can burn. Never short a cell; wear eye protection; keep a fire-safe container at hand.
        The maker’s datasheet, local codes and a qualified person come before this sheet.
      </p>
    </section>
  );
}
