import type { Stack } from '../../../../server/contract/stacks.ts';
import { quantityWithUncertainty } from '../../format/quantity.ts';
import { ScanCode } from '../../parts/ScanCode.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { featureWords } from '../../words/quantities.ts';
import { StackLabels } from './StackLabels.tsx';
import { stackTitle } from './stackTitle.ts';
import { travellerChecks } from './travellerChecks.ts';

/** Only on paper: a sheet of labels, and a traveller for each stack to be filled in at the bench. */
export function PrintSheets({ stacks }: { stacks: readonly Stack[] }) {
  if (stacks.length === 0) return null;
  return (
    <div className="only-print">
      <StackLabels stacks={stacks} />
      {stacks.map((stack) => (
        <Traveller key={stack.id} stack={stack} />
      ))}
    </div>
  );
}

/** The paper that goes with a stack through the workshop. */
export function Traveller({ stack }: { stack: Stack }) {
  const [units] = useUnits();
  return (
    <section className="traveller">
      <h2>{say('stacks.stackNameTraveller', { stackName: stackTitle(stack.name) })}</h2>
      <ScanCode text={stack.name} label={say('stacks.codeOfTheStack')} />
      <table className="plain">
        <thead>
          <tr>
            <th scope="col">{say('stacks.place')}</th>
            <th scope="col">{say('stacks.cell')}</th>
            <th scope="col">{say('stacks.lot')}</th>
            <th scope="col">{say('stacks.chosenBy')}</th>
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
                      `${featureWords(key)}: ${quantityWithUncertainty(v.value, v.standardUncertainty, v.unit, units)}`,
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
            <th scope="col">{say('stacks.check')}</th>
            <th scope="col">{say('stacks.result')}</th>
            <th scope="col">{say('stacks.dateName')}</th>
          </tr>
        </thead>
        <tbody>
          {travellerChecks(stack).map(({ text }) => (
            <tr key={text}>
              <td>{text}</td>
              <td />
              <td />
            </tr>
          ))}
        </tbody>
      </table>
      <p>{say('stacks.lithiumCellsCanBurnNeverShort')}</p>
    </section>
  );
}
