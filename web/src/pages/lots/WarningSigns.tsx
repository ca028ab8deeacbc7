import { Link } from 'react-router';
import { useRequest } from '../../api/useRequest.ts';
import { quantity } from '../../format/quantity.ts';
import { Problem } from '../../parts/Problem.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { signWords } from '../../words/warningSigns.ts';

/** Cells that are never offered for pairing, whatever their capacity and resistance, each with the limit it broke. */
export function WarningSigns({ lotId }: { lotId: number }) {
  const [units] = useUnits();
  const { data, error, again } = useRequest('/lots/{id}/warnings', { params: { id: lotId } });
  if (data === undefined) return <Problem error={error} again={again} />;
  if (data.items.length === 0) return null;
  const cells = new Set(data.items.map((s) => s.cellId)).size;
  return (
    <>
      <h2>{say('lots.warningSigns')}</h2>
      <p className="warning">
        {say('lots.cellsBeforeItIsUsedFor', {
          cells:
            cells === 1
              ? say('lots.oneCellIsNeverOfferedFor')
              : say('lots.cellsCellsAreNeverOfferedFor', { cells }),
        })}
      </p>
      <Sheet
        label={say('lots.cellsWithAWarningSign')}
        head={[say('lots.cell'), say('lots.sign'), say('lots.value'), say('lots.limit')]}
        numeric={[2, 3]}
        rows={data.items.map((s) => [
          <Link key="cell" to={`/cells/${s.cellId}`}>
            {s.serial}
          </Link>,
          signWords[s.code],
          quantity(s.value, s.unit, units, 3),
          quantity(s.limit, s.unit, units, 3),
        ])}
      />
    </>
  );
}
