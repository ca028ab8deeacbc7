/** The fields of a form that hold something they cannot take, in sentences. */
export function unreadableFields(form: HTMLFormElement): string[] {
  return [...form.querySelectorAll<HTMLInputElement>('input[aria-invalid="true"]')].map(
    (field) => `${field.labels?.[0]?.textContent ?? 'A field'}: correct or empty what stands there.`,
  );
}
