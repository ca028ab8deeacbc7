import type { TableFile } from './readTableFile.ts';
import type { PulseColumns, PulseVoltage } from './recognise/pulseColumns.ts';
import { RefusedFile } from './refusedFile.ts';
import { currentSignOf } from './stateColumn.ts';
import { numberAt } from './tableQuantities.ts';
import type { Unit } from './units.ts';

/** A resistance that a row states by its voltages and its current. */
export interface PulseRowResistance {
  readonly column: string;
  readonly value: number;
  readonly durationS: number;
  readonly direction: 'charge' | 'discharge';
  /** Positive on charge. */
  readonly currentA: number;
}

/** A row's current, positive on charge where that is known, and the direction that a column of words states. */
export interface RowCurrent {
  readonly currentA: number | null;
  readonly direction: 'charge' | 'discharge' | null;
}

/**
 * Reads the pulses of a table row by row. The sign of the current is that which the voltages show: a table whose currents are
 * positive on discharge throughout is turned, one that is without sign takes the direction from its column of words, or from
 * the voltage.
 */
export class PulseRows {
  readonly warnings: string[] = [];
  private readonly table: TableFile;
  private readonly columns: PulseColumns;
  private readonly turn: 1 | -1;
  private readonly signed: boolean;

  /** @throws RefusedFile `current-sign` where voltage and signed current contradict each other in some rows only */
  constructor(table: TableFile, columns: PulseColumns) {
    this.table = table;
    this.columns = columns;
    const currents = table.rows.map((_, i) => this.written(i));
    this.signed = currents.some((value) => value !== null && value < 0);
    this.turn = this.signed ? this.signOfColumn(currents) : 1;
    if (this.turn === -1)
      this.warnings.push(
        `column "${table.header[columns.currentAt]}" counts discharge as positive; it is kept as positive on charge`,
      );
  }

  /** The current of a row with its direction; null where the row does not say. */
  currentOf(row: number): RowCurrent {
    const amount = this.written(row);
    const stated = this.statedDirection(row);
    if (amount === null) return { currentA: null, direction: stated };
    if (this.signed) {
      const currentA = amount * this.turn;
      return { currentA, direction: currentA > 0 ? 'charge' : currentA < 0 ? 'discharge' : null };
    }
    const direction = stated ?? this.shownDirection(row);
    // Without sign and direction the amount alone would be read as a charge.
    if (direction === null) return { currentA: null, direction };
    return { currentA: direction === 'discharge' ? 0 - amount : amount, direction };
  }

  /** @throws RefusedFile `impossible-pulse` where a voltage moves without a current, or not at all */
  resistancesOf(row: number): PulseRowResistance[] {
    const { currentA, direction } = this.currentOf(row);
    return this.columns.voltages.flatMap((voltage): PulseRowResistance[] => {
      const stepV = this.stepV(row, voltage);
      if (stepV === null) return [];
      const refuse = (reason: string, expected: string) =>
        new RefusedFile({
          code: 'impossible-pulse',
          row: this.table.lines[row],
          column: voltage.column.source,
          value: this.table.rows[row][voltage.column.index],
          reason,
          expected,
        });
      if (currentA === null || currentA === 0)
        throw refuse('The row has a voltage of a pulse and no current', 'Write the current of every pulse');
      if (direction !== null && stepV * (direction === 'charge' ? 1 : -1) <= 0)
        throw refuse(
          `The voltage does not ${direction === 'charge' ? 'rise in a charge' : 'fall in a discharge'} pulse`,
          'Check the direction, the current and the voltage before the pulse',
        );
      return [
        {
          column: voltage.column.source,
          value: Math.abs(stepV / currentA),
          durationS: voltage.durationS,
          direction: currentA > 0 ? 'charge' : 'discharge',
          currentA,
        },
      ];
    });
  }

  private written(row: number): number | null {
    const { currentAt, currentUnit } = this.columns;
    return currentAt < 0 || currentUnit === null ? null : inUnit(this.table, row, currentAt, currentUnit);
  }

  private stepV(row: number, { column, unit }: PulseVoltage): number | null {
    const { before } = this.columns;
    if (before === null) return null;
    const [from, to] = [
      inUnit(this.table, row, before.column.index, before.unit),
      inUnit(this.table, row, column.index, unit),
    ];
    return from === null || to === null ? null : to - from;
  }

  private statedDirection(row: number): 'charge' | 'discharge' | null {
    const { directionAt } = this.columns;
    const sign = directionAt < 0 ? null : currentSignOf(this.table.rows[row][directionAt]);
    return sign === 1 ? 'charge' : sign === -1 ? 'discharge' : null;
  }

  /** The direction that the last voltage of the row shows. */
  private shownDirection(row: number): 'charge' | 'discharge' | null {
    for (const voltage of [...this.columns.voltages].sort((a, b) => b.durationS - a.durationS)) {
      const stepV = this.stepV(row, voltage);
      if (stepV !== null && stepV !== 0) return stepV > 0 ? 'charge' : 'discharge';
    }
    return null;
  }

  private signOfColumn(currents: readonly (number | null)[]): 1 | -1 {
    const agrees = currents.map((value, i) => {
      const shown = this.shownDirection(i) ?? this.statedDirection(i);
      return value === null || value === 0 || shown === null
        ? 0
        : Math.sign(value) * (shown === 'charge' ? 1 : -1);
    });
    const sum = agrees.reduce((total, one) => total + one, 0);
    const sign = sum < 0 ? -1 : 1;
    const odd = agrees.indexOf(-sign);
    if (odd < 0) return sign;
    throw new RefusedFile({
      code: 'current-sign',
      row: this.table.lines[odd],
      column: this.table.header[this.columns.currentAt],
      value: this.table.rows[odd][this.columns.currentAt],
      reason: 'The voltage moves against the current here and with it in other rows',
      expected: 'Give the current one sign throughout: charge raises the voltage',
    });
  }
}

function inUnit(table: TableFile, row: number, at: number, unit: Unit): number | null {
  const value = numberAt(table, row, at);
  return value === null ? null : (value * unit.multiply) / unit.divide + unit.add;
}
