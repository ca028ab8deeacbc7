import { NumberInput, type NumberInputProps } from '@mantine/core';
import { useState } from 'react';

export interface NumberFieldProps
  extends Omit<NumberInputProps, 'value' | 'onChange' | 'defaultValue' | 'onBlur'> {
  readonly value: number | null;
  /** null: the field is empty, or what stands in it is no number yet. */
  readonly onChange: (value: number | null) => void;
  /** May be negative: some phones have no minus on the keyboard for numbers, so they show the one for text. */
  readonly signed?: boolean;
}

/**
 * A field for a number or nothing. While somebody types, what is typed stays as it is (`3.`, `3.0`, nothing); the page
 * is told the number it stands for, and the field shows the page's number again when it is left.
 */
export function NumberField({ value, onChange, signed = false, ...props }: NumberFieldProps) {
  const [typed, setTyped] = useState<string | number | null>(null);
  return (
    <NumberInput
      inputMode={signed ? 'text' : 'decimal'}
      {...props}
      value={typed ?? value ?? ''}
      onChange={(given) => {
        setTyped(given);
        onChange(numberOf(given));
      }}
      onBlur={() => setTyped(null)}
    />
  );
}

/** The number in a field, or null where there is none. */
export function numberOf(given: string | number): number | null {
  const value = typeof given === 'number' ? given : given.trim() === '' ? Number.NaN : Number(given);
  return Number.isFinite(value) ? value : null;
}
