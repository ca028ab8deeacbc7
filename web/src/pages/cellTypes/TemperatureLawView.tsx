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
import { say } from '../../words/i18n.ts';
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
    <section aria-label={say('cellTypes.resistanceOverTemperature')}>
      <h2>{say('cellTypes.resistanceOverTemperatureOf', { cellTypeName: cellType.name })}</h2>
      <Problem error={error ?? assess.error} again={again} />
      {data === null && <p>{say('cellTypes.notAssessedThisNeedsResistancesMeasured')}</p>}
      {since !== null && <p className="warning">{since}</p>}
      {data !== undefined && (
        <div className="actions">
          <Button
            size="compact-sm"
            variant={since === null ? 'default' : 'filled'}
            loading={assess.running}
            onClick={() => assess.run(undefined)}
          >
            {data === null ? say('cellTypes.assessIt') : say('cellTypes.assessItAgain')}
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
        <p>{say('cellTypes.allResistancesWereMeasuredAtAbout')}</p>
      ) : (
        <>
          <p>
            {say('cellTypes.arrheniusLawRTRT0', {
              createdAt: instant(fit.createdAt),
              createdBy: fit.createdBy,
            })}
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
        label={say('cellTypes.drawnUpTo', { mostLawsDrawn })}
        data={laws.map((law) => ({ value: law.key, label: quantityTitle(law) }))}
        value={shown.map((law) => law.key)}
        maxValues={mostLawsDrawn}
        searchable
        onChange={(keys) => setText(keys.join(','))}
      />
      <ChartFigure
        picture={temperatureLawsPicture(shown, units)}
        height={340}
        note={say('cellTypes.pointsMeansAtEachTemperatureCurve', {
          word: shown.length === 1 ? say('cellTypes.shaded') : '',
        })}
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
      label={say('cellTypes.laws')}
      head={[
        say('cellTypes.resistance'),
        say('cellTypes.atReferenceCC', { referenceC: laws[0].referenceC }),
        say('cellTypes.eaKjMol'),
        say('cellTypes.measuredC'),
        say('cellTypes.cells'),
        say('cellTypes.readings'),
        say('cellTypes.farthestReading'),
        ...(remarked ? [say('cellTypes.remark')] : []),
      ]}
      numeric={[1, 2, 3, 4, 5, 6]}
      rows={laws.map((law, i) => [
        quantityTitle(law),
        quantityWithUncertainty(law.referenceOhm, law.referenceStandardErrorOhm, 'Ohm', units),
        law.activationStandardErrorJPerMol === null
          ? significant(law.activationJPerMol / 1000, 3)
          : withUncertainty(law.activationJPerMol / 1000, law.activationStandardErrorJPerMol / 1000),
        say('cellTypes.lowestCToHighestC', {
          lowestC: fixed(law.lowestC, 1),
          highestC: fixed(law.highestC, 1),
        }),
        law.cells,
        law.readings,
        fixed(100 * law.largestDeviation, 1),
        ...(remarked ? [remarks[i]] : []),
      ])}
    />
  );
}
