import { Link } from 'react-router';
import { furtherCautions } from '../../../../server/contract/cautions.ts';
import type { ChargeRateEntry, ChargeRates } from '../../../../server/contract/chargeRates.ts';
import { useRequest } from '../../api/useRequest.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { significant } from '../../format/number.ts';
import { quantity } from '../../format/quantity.ts';
import { Cautions } from '../../parts/Cautions.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { Waiting } from '../../parts/Waiting.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { rateBindingWords } from '../../words/charge.ts';
import { reasonSentence } from '../../words/reasons.ts';
import { rateTablePicture } from '../charge/studyPictures.ts';

/** The rates a cell type or a chemistry may be charged at, over temperature and resistance growth. */
export function ChargeRatesView({ of, id }: { of: 'cell-types' | 'chemistries'; id: number }) {
  const { data, error, again } = useRequest(`/${of}/{id}/charge-rates`, { params: { id } });
  if (data === undefined) {
    return error === null ? <Waiting /> : <Problem error={error} again={again} />;
  }
  return (
    <section aria-label={`Charge rates of ${data.subject.name}`}>
      <h2>Charge rates of {data.subject.name}</h2>
      <Basis rates={data} />
      <Cautions
        also={[
          ...(data.cautions.includes('do-not-charge')
            ? ['Where the table says “do not charge”, do not charge at any rate.']
            : []),
          ...furtherCautions(data.cautions.filter((code) => code !== 'do-not-charge')),
        ]}
      />
      {data.entries.some((e) => e.rateC !== null) && <ChartFigure picture={rateTablePicture(data)} />}
      <Sheet
        label={`Rates of ${data.subject.name}`}
        maxHeight={640}
        head={['Temperature, °C', ...data.resistanceGrowths.map(growthWord)]}
        numeric={[0]}
        rows={data.temperaturesC.map((t) => [
          significant(t, 3),
          ...data.resistanceGrowths.map((growth) => {
            const entry = data.entries.find((e) => e.temperatureC === t && e.resistanceGrowth === growth);
            return entry === undefined ? '–' : <Rate key={growth} entry={entry} />;
          }),
        ])}
      />
    </section>
  );
}

function growthWord(growth: number): string {
  return growth === 0 ? 'As measured' : `Resistance +${Math.round(growth * 100)} %`;
}

function Basis({ rates }: { rates: ChargeRates }) {
  const [units] = useUnits();
  const { limits, representative: cell } = rates;
  const range = `${limits.minTemperatureC} to ${limits.maxTemperatureC} °C`;
  return (
    <>
      {cell === null ? (
        <p className="warning">
          Common practice for the chemistry, no source is claimed
          {rates.representativeReason === 'no-fitted-cell' && ': no cell of this type has been fitted yet'}.
          Take the maker’s datasheet.
        </p>
      ) : (
        <p>
          Computed from the fitted parameters of <Link to={`/cells/${cell.cellId}`}>{cell.serial}</Link> of{' '}
          <Link to={`/lots/${cell.lotId}`}>{cell.lotName}</Link>
          {cell.chosenBy === 'median-resistance'
            ? `, the middle one of ${cell.fittedCells} fitted cells by resistance`
            : ', the first fitted cell'}
          {cell.resistanceOhm !== null && <> ({quantity(cell.resistanceOhm, 'Ohm', units)})</>}. Measured{' '}
          {cell.measuredFromC === null || cell.measuredToC === null
            ? 'at a temperature that is not known'
            : cell.measuredFromC === cell.measuredToC
              ? `at ${significant(cell.measuredFromC, 3)} °C`
              : `from ${significant(cell.measuredFromC, 3)} to ${significant(cell.measuredToC, 3)} °C`}
          .{!cell.heatBalance && ' It has no heat balance: its own warming is left out.'}
        </p>
      )}
      {cell !== null && cell.notes.length > 0 && <p>Basis: {cell.notes.join('; ')}.</p>}
      <p>
        Limits kept: {significant(limits.maxRateC, 3)} C (
        {limits.maxRateBasis === 'datasheet' ? 'datasheet' : 'common practice'}), {limits.chargeVoltageLimitV}{' '}
        V, {range}.
        {limits.commonPractice.length > 0 &&
          ' What the datasheet leaves open is common practice of the chemistry.'}
      </p>
    </>
  );
}

function Rate({ entry }: { entry: ChargeRateEntry }) {
  const [units] = useUnits();
  const why = [
    entry.binding === null ? '' : `bound by ${rateBindingWords[entry.binding]}`,
    entry.extrapolated ? 'outside the measured range' : '',
  ].filter((t) => t !== '');
  if (entry.doNotCharge) return <>do not charge. {reasonSentence(entry.reason)}</>;
  if (entry.rateC === null) return <>not known. {reasonSentence(entry.reason)}</>;
  return (
    <>
      <strong>{significant(entry.rateC, 3)} C</strong>
      {entry.currentA !== null && <> ({quantity(entry.currentA, 'A', units, 3)})</>}
      {why.length > 0 && <>; {why.join('; ')}</>}
    </>
  );
}
