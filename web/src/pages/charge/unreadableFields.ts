import { say } from '../../words/i18n.ts';
/** The fields of a form that hold something they cannot take, in sentences. */
export function unreadableFields(form: HTMLFormElement): string[] {
  return [...form.querySelectorAll<HTMLInputElement>('input[aria-invalid="true"]')].map((field) =>
    say('charge.correctOrEmptyWhatStandsThere', {
      textContent: field.labels?.[0]?.textContent ?? say('charge.aField'),
    }),
  );
}
