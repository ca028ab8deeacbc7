import type { LotColumns } from '../../../../server/contract/lots.ts';
import type { MeasurementColumn, QuantityName } from '../../../../server/contract/measurements.ts';
import {
  type FeatureQuantity,
  type PairingCriteriaInput,
  type PairingPurpose,
  type WarningSignCode,
  warningSignCodes,
} from '../../../../server/contract/pairingCriteria.ts';
import { say } from '../../words/i18n.ts';
import { columnTitle } from '../../words/quantities.ts';

/** One feature as the page asks for it; tolerances in percent or in the unit of the column. */
export interface ChosenFeature {
  readonly key: string;
  readonly kind: 'absolute' | 'percent';
  readonly tolerance: number;
  readonly importance: number;
  /** Hard limit as a multiple of the tolerance; null: none. */
  readonly limitFactor: number | null;
}

export interface CriteriaChoice {
  readonly features: readonly ChosenFeature[];
  readonly objective: 'least-total' | 'least-worst-then-total';
  readonly missingValues: 'leave-out' | 'refuse';
  readonly outlierLimit: number | null;
  /** Warning signs in spite of which cells are paired. */
  readonly signsIgnored: readonly WarningSignCode[];
  /** The purpose the features were chosen for; null where they were chosen one by one. */
  readonly purpose: PairingPurpose | null;
  readonly chargeCurrentA: number | null;
  /** Cells in series in a stack. */
  readonly cellsPerStack: number;
  /** Serials as typed: `A + B, C + D` for pairs, `A, B` for single cells. */
  readonly together: string;
  readonly apart: string;
  readonly heldBack: string;
}

/** The pairs of a text like `A + B, C + D`; what is not two serials is left out. */
export function pairsOfText(text: string): [string, string][] {
  return text.split(',').flatMap((part): [string, string][] => {
    const serials = part
      .split('+')
      .map((s) => s.trim())
      .filter((s) => s !== '');
    return serials.length === 2 ? [[serials[0], serials[1]]] : [];
  });
}

function serialsOfText(text: string): string[] {
  return text
    .split(',')
    .map((s) => s.trim())
    .filter((s) => s !== '');
}

const quantityOf: Readonly<Partial<Record<QuantityName, FeatureQuantity>>> = {
  capacity: 'capacity',
  resistance: 'resistance',
  rdc: 'resistance',
  r0: 'ohmic-resistance',
  'impedance-1khz': 'impedance-1khz',
  ocv: 'open-circuit-voltage',
  drift: 'self-discharge',
  'fade-rate': 'capacity-fade',
  'resistance-rise-rate': 'resistance-rise',
  mass: 'mass',
  thickness: 'thickness',
};

/** Whether a measured column can serve as a feature of pairing. */
export function canMatch(column: MeasurementColumn): boolean {
  return quantityOf[column.quantity] !== undefined;
}

/** A purpose as the page names it. */
export interface Purpose {
  readonly purpose: PairingPurpose;
  readonly name: string;
  readonly why: string;
}

export const purposes: readonly Purpose[] = [
  {
    purpose: 'fast-charging',
    name: say('pairings.fastCharging'),
    why: say('pairings.equalResistanceFirstSoThatBoth'),
  },
  {
    purpose: 'run-time',
    name: say('pairings.runTime'),
    why: say('pairings.equalCapacityTheSmallerCellDecides'),
  },
  {
    purpose: 'long-storage',
    name: say('pairings.longStorage'),
    why: say('pairings.equalDriftAtRestAndCapacity'),
  },
  { purpose: 'all-round', name: say('pairings.allRound'), why: say('pairings.capacityAndResistanceAlike') },
];

const usualTolerance: Readonly<Partial<Record<FeatureQuantity, ChosenFeature['tolerance']>>> = {
  capacity: 1,
  resistance: 5,
  'ohmic-resistance': 5,
  'impedance-1khz': 5,
  'self-discharge': 50,
  'open-circuit-voltage': 0.1,
  mass: 1,
};

/** The features of a purpose as the server chooses them from what is measured, for pages and commands alike. */
export function featuresFor(purpose: PairingPurpose, known: LotColumns): ChosenFeature[] {
  const chosen = known.purposes.find((one) => one.purpose === purpose);
  return (chosen?.features ?? []).map(({ key, importance, tolerancePercent }) => ({
    key,
    kind: 'percent',
    tolerance: tolerancePercent,
    importance,
    limitFactor: null,
  }));
}

/** Quantities that a purpose asks for and that nobody measured. */
export function missingFor(purpose: PairingPurpose, known: LotColumns): readonly FeatureQuantity[] {
  return known.purposes.find((one) => one.purpose === purpose)?.missing ?? [];
}

const resistanceLike: readonly FeatureQuantity[] = ['resistance', 'impedance-1khz', 'ohmic-resistance'];

/** A measured resistance is known of these cells, and none is compared. */
export function leavesOutResistance(features: readonly ChosenFeature[], known: LotColumns): boolean {
  const resistances = known.columns.filter((column) =>
    resistanceLike.includes(quantityOf[column.quantity] ?? 'other'),
  );
  return (
    resistances.length > 0 && !features.some(({ key }) => resistances.some((column) => column.key === key))
  );
}

/** A column as a feature with the usual starting tolerance, which the user then changes. */
export function startingFeature(column: MeasurementColumn): ChosenFeature {
  const quantity = quantityOf[column.quantity] ?? 'other';
  return {
    key: column.key,
    kind: 'percent',
    tolerance: usualTolerance[quantity] ?? 2,
    importance: 1,
    limitFactor: null,
  };
}

/** The choice as the criteria document that is checked, run and stored. */
export function criteriaDocument(
  choice: CriteriaChoice,
  columns: readonly MeasurementColumn[],
  name: string,
): PairingCriteriaInput {
  return {
    schemaVersion: 1,
    name,
    features: choice.features.flatMap((f) => {
      const column = columns.find((c) => c.key === f.key);
      if (column === undefined) return [];
      return [
        {
          name: columnTitle(column),
          quantity: quantityOf[column.quantity] ?? ('other' as const),
          column: column.key,
          condition: {
            durationS: column.durationS,
            soc: column.soc,
            // Resistances measured near it are carried to it where a temperature law covers them, or are named.
            temperatureC: column.temperatureC,
            direction: column.direction,
          },
          tolerance: { kind: f.kind, value: f.tolerance },
          importance: f.importance,
          pairLimit: f.limitFactor === null ? null : { kind: f.kind, value: f.tolerance * f.limitFactor },
        },
      ];
    }),
    objective: choice.objective,
    missingValues: choice.missingValues,
    outlierLimit: choice.outlierLimit,
    signsIgnored: [...choice.signsIgnored],
    purpose: choice.purpose,
    locks: {
      together: pairsOfText(choice.together),
      apart: pairsOfText(choice.apart),
      heldBack: serialsOfText(choice.heldBack),
    },
    use: { chargeCurrentA: choice.chargeCurrentA },
    cellsPerStack: choice.cellsPerStack,
  };
}

/** How many cells may be in series. */
export const choicesInSeries: readonly number[] = Array.from({ length: 15 }, (_, i) => i + 2);

/** The choice as text for the address. */
export function choiceText(choice: CriteriaChoice): string {
  return JSON.stringify([
    choice.features.map((f) => [
      f.key,
      f.kind === 'percent' ? 'p' : 'a',
      f.tolerance,
      f.importance,
      f.limitFactor,
    ]),
    choice.objective === 'least-total' ? 0 : 1,
    choice.missingValues === 'leave-out' ? 0 : 1,
    choice.outlierLimit,
    choice.chargeCurrentA,
    choice.cellsPerStack,
    choice.together,
    choice.apart,
    choice.heldBack,
    choice.signsIgnored,
    choice.purpose,
  ]);
}

/** The choice of an address, or null where the text is none. */
export function choiceOfText(text: string): CriteriaChoice | null {
  try {
    const [
      features,
      objective,
      missing,
      outlierLimit,
      current,
      inSeries,
      together,
      apart,
      heldBack,
      signs,
      purpose,
    ] = JSON.parse(text) as unknown[];
    if (!Array.isArray(features)) return null;
    return {
      features: features.map((entry: unknown): ChosenFeature => {
        const [key, kind, tolerance, importance, limit] = entry as [
          string,
          string,
          number,
          number,
          number | null,
        ];
        return {
          key: String(key),
          kind: kind === 'a' ? 'absolute' : 'percent',
          tolerance: Number(tolerance),
          importance: Number(importance),
          limitFactor: limit === null ? null : Number(limit),
        };
      }),
      objective: objective === 1 ? 'least-worst-then-total' : 'least-total',
      missingValues: missing === 1 ? 'refuse' : 'leave-out',
      outlierLimit: typeof outlierLimit === 'number' ? outlierLimit : null,
      signsIgnored: warningSignCodes.filter((code) => Array.isArray(signs) && signs.includes(code)),
      purpose: purposes.find((one) => one.purpose === purpose)?.purpose ?? null,
      chargeCurrentA: typeof current === 'number' ? current : null,
      cellsPerStack: choicesInSeries.find((n) => n === inSeries) ?? 2,
      together: typeof together === 'string' ? together : '',
      apart: typeof apart === 'string' ? apart : '',
      heldBack: typeof heldBack === 'string' ? heldBack : '',
    };
  } catch {
    return null;
  }
}
