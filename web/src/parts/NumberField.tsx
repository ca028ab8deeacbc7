import { TextInput, type TextInputProps } from '@mantine/core';
import { useEffect, useRef, useState } from 'react';
import { type ReadNumber, readNumber } from '../format/readNumber.ts';
import { say } from '../words/i18n.ts';
import { decimalMark } from '../words/language.ts';

export interface NumberFieldProps
  extends Omit<TextInputProps, 'value' | 'onChange' | 'defaultValue' | 'onBlur'> {
  readonly value: number | null;
  /** null: the field is empty, or what stands in it is not a number. */
  readonly onChange: (value: number | null) => void;
  readonly min?: number;
  readonly max?: number;
  /** May be negative: some phones have no minus on the keyboard for numbers, so they show the one for text. */
  readonly signed?: boolean;
}

/**
 * A field for a number or nothing, with a decimal point or comma. What is typed or pasted stays as it is, and the page is
 * given the number it means; what is not a number is said so and counts as nothing, never as part of itself. A form that
 * holds such a field is not sent: the browser leads to the field and says what is wrong.
 */
export function NumberField({
  value,
  onChange,
  signed = false,
  min,
  max,
  error,
  required,
  ...props
}: NumberFieldProps) {
  const [typed, setTyped] = useState<string | null>(null);
  const shown = typed ?? (value === null ? '' : String(value).replace('.', decimalMark));
  const found = readNumber(shown);
  const wrong = typed === null ? null : wrongWith(found, min, max);
  const field = useRef<HTMLInputElement>(null);
  useEffect(() => field.current?.setCustomValidity(wrong ?? ''), [wrong]);
  return (
    <TextInput
      ref={field}
      inputMode={signed ? 'text' : 'decimal'}
      autoComplete="off"
      {...props}
      {...(required === undefined ? {} : { required })}
      value={shown}
      error={wrong ?? error}
      onChange={(e) => {
        const text = e.currentTarget.value;
        setTyped(text);
        const now = readNumber(text);
        onChange(wrongWith(now, min, max) === null ? now.value : null);
      }}
      onInvalid={(e) => {
        // A field that cannot be seen cannot be led to either.
        for (let at = e.currentTarget.closest('details'); at !== null; at = shut(at)) at.open = true;
      }}
      onBlur={() => {
        if (wrong === null) setTyped(null);
      }}
    />
  );
}

/** The next closed part around an opened one. */
const shut = (opened: HTMLDetailsElement): HTMLDetailsElement | null =>
  opened.parentElement?.closest('details') ?? null;

/**
 * The first field on the page that holds what it cannot take, led to and said; null where all are readable. For what is
 * pressed outside of a form.
 */
export function leadToUnreadable(): HTMLInputElement | null {
  const wrong = [...document.querySelectorAll<HTMLInputElement>('main input')].find(
    (field) => field.validity.customError,
  );
  if (wrong === undefined) return null;
  wrong.reportValidity();
  return wrong;
}

function wrongWith({ value, problem }: ReadNumber, min?: number, max?: number): string | null {
  if (problem !== null) return problem;
  if (value !== null && min !== undefined && value < min) return say('general.atLeastMin', { min });
  if (value !== null && max !== undefined && value > max) return say('general.atMostMax', { max });
  return null;
}
