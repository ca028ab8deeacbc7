import { Button, MultiSelect } from '@mantine/core';
import type { CellType } from '../../../../server/contract/cellTypes.ts';
import type { CellTypeTemperature, TemperatureLaw } from '../../../../server/contract/temperature.ts';
import { api } from '../../api/ApiClient.ts';
import { useAction } from '../../api/useAction.ts';
import { useRequest } from '../../api/useRequest.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { mostLawsDrawn, orderedLaws, temperatureLawsPicture } from '../../charts/temperatureLaws.ts';
import { fixed, significant, withUncertainty } from '../../format/number.ts';
import { quantityWithUncertainty } from '../../format/quantity.ts';
import { instant } from '../../format/time.ts';
import { Problem } from '../../parts/Problem.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { useUrlState } from '../../parts/useUrlState.ts';
import { useUnits } from '../../settings/useUnits.ts';
import { quantityTitle } from '../../words/quantities.ts';
import { lawRemarks, sinceSentence, withoutSentence } from '../../words/temperature.ts';

/** How the resistances of a cell type depend on temperature, over all its cells, and the button that assesses it. */
export function TemperatureLawView({ cellType }: { cellType: CellType }) {
  const params = { id: cellType.id };
  const { data, error, again } = useRequest('/cell-types/{id}/temperature', { params });
  const assess = useAction(
    () => api.post('/cell-types/{id}/temperature', { params }),
    [`/cell-types/${cellType.id}/temperature`],
  );
  const since = data === undefined || data === null ? null : sinceSentence(data.since);
  return (
    <section aria-label="Resistance over temperature">
      <h2>Resistance over temperature of {cellType.name}</h2>
      <Problem error={error ?? assess.error} again={again} />
      {data === null && <p>Not assessed: this needs resistances measured at several temperatures.</p>}
      {since !== null && <p className="warning">{since}</p>}
      {data !== undefined && (
        <div className="actions">
          <Button
            size="compact-sm"
            variant={since === null ? 'default' : 'filled'}
            loading={assess.running}
            onClick={() => assess.run(undefined)}
          >
            {data === null ? 'Assess it' : 'Assess it again'}
          </Button>
        </div>
      )}
      {data !== undefined && data !== null && <Laws found={data} referenceSoc={cellType.referenceSoc} />}
    </section>
  );
}

interface LawsProps {
  readonly found: CellTypeTemperature;
  readonly referenceSoc: number;
}

function Laws({ found: { dependence, fit }, referenceSoc }: LawsProps) {
  const laws = orderedLaws(dependence.laws, referenceSoc);
  const without = withoutSentence(dependence.without);
  return (
    <>
      {laws.length === 0 ? (
        <p>All resistances were measured at about one temperature, so there is no dependence to see.</p>
      ) : (
        <>
          <p>
            Arrhenius law: R(T) = R(T₀) · exp[(Ea / 8.314 J/(mol K)) · (1/T − 1/T₀)], T in kelvin, T₀ the
            reference temperature. The activation energy Ea says how steeply the resistance rises in the cold.
            Assessed {instant(fit.createdAt)}, by {fit.createdBy}.
          </p>
          <DrawnLaws laws={laws} />
          <LawTable laws={laws} />
        </>
      )}
      {without !== null && <p>{without}</p>}
    </>
  );
}

function DrawnLaws({ laws }: { laws: readonly TemperatureLaw[] }) {
  const [units] = useUnits();
  const [text, setText] = useUrlState('laws', laws[0].key);
  const chosen = text.split(',').flatMap((key) => laws.find((law) => law.key === key) ?? []);
  const shown = chosen.length > 0 ? chosen.slice(0, mostLawsDrawn) : [laws[0]];
  return (
    <>
      <MultiSelect
        size="xs"
        maw={640}
        label={`Drawn, up to ${mostLawsDrawn}`}
        data={laws.map((law) => ({ value: law.key, label: quantityTitle(law) }))}
        value={shown.map((law) => law.key)}
        maxValues={mostLawsDrawn}
        searchable
        onChange={(keys) => setText(keys.join(','))}
      />
      <ChartFigure
        picture={temperatureLawsPicture(shown, units)}
        height={340}
        note={`Points: means at each temperature. Curve: the law, drawn only between the lowest and the highest measured temperature${
          shown.length === 1 ? ' (shaded)' : ''
        }. Band: two standard errors of the law, not the spread of the cells; 95 % of the readings of further cells lie between the dotted curves. Beyond the measured range the law is not used: a resistance there stays as measured, and the pairing says so.`}
      />
      {shown.flatMap((law) =>
        lawRemarks(law).map((remark) => (
          <p key={`${law.key} ${remark}`} className="warning">
            {quantityTitle(law)}: {remark}
          </p>
        )),
      )}
    </>
  );
}

function LawTable({ laws }: { laws: readonly TemperatureLaw[] }) {
  const [units] = useUnits();
  const remarks = laws.map((law) => lawRemarks(law).join(' '));
  // Nothing to remark is the usual case; an empty column would only take the room of the others.
  const remarked = remarks.some((text) => text !== '');
  return (
    <Sheet
      label="Laws"
      head={[
        'Resistance',
        `At ${laws[0].referenceC} °C`,
        'Ea, kJ/mol',
        'Measured, °C',
        'Cells',
        'Readings',
        'Farthest reading, %',
        ...(remarked ? ['Remark'] : []),
      ]}
      numeric={[1, 2, 3, 4, 5, 6]}
      rows={laws.map((law, i) => [
        quantityTitle(law),
        quantityWithUncertainty(law.referenceOhm, law.referenceStandardErrorOhm, 'Ohm', units),
        law.activationStandardErrorJPerMol === null
          ? significant(law.activationJPerMol / 1000, 3)
          : withUncertainty(law.activationJPerMol / 1000, law.activationStandardErrorJPerMol / 1000),
        `${fixed(law.lowestC, 1)} to ${fixed(law.highestC, 1)}`,
        law.cells,
        law.readings,
        fixed(100 * law.largestDeviation, 1),
        ...(remarked ? [remarks[i]] : []),
      ])}
    />
  );
}
