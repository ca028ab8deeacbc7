import { useMutation, useQueryClient } from '@tanstack/react-query';
import { useEffect, useRef } from 'react';
import { newIdempotencyKey } from './ApiClient.ts';
import { Intent } from './intent.ts';
import { RequestError } from './problems.ts';
import { type Changed, forget } from './useRequest.ts';

/** Something a person does: run it, see whether it runs, and what came of it. */
export interface Action<Input, Output> {
  /** Starts it; failures are in `error`. A second click of a double click starts nothing; a press with another input counts. */
  readonly run: (input: Input) => void;
  /** Starts it and waits; throws the failure as well. */
  readonly runAndWait: (input: Input) => Promise<Output>;
  readonly running: boolean;
  readonly error: RequestError | null;
  readonly output: Output | undefined;
  readonly clear: () => void;
}

/**
 * One change on the server. `changes` names the paths whose answers it makes stale. `then` runs only while the page that
 * asked is still there: nobody is carried off to a result after having gone elsewhere.
 *
 * @param work does it; what decides what is done belongs into `input`. `key` is the Idempotency-Key of the person's
 *   intention: the same again where the last try with this input was not answered, so that it is done once
 */
export function useAction<Input, Output>(
  work: (input: Input, key: string) => Promise<Output>,
  changes: readonly Changed[],
  then?: (output: Output, input: Input) => void,
): Action<Input, Output> {
  const client = useQueryClient();
  const present = useRef(true);
  const intent = useRef(new Intent(newIdempotencyKey));
  useEffect(() => {
    present.current = true;
    return () => {
      present.current = false;
    };
  }, []);
  const mutation = useMutation<Output, RequestError, Input>({
    mutationFn: async (input) => {
      const attempt = intent.current.begin(input);
      // The intention ends with the answer, not when the page has read again what it shows: what is pressed meanwhile counts.
      try {
        const output = await work(input, attempt.key);
        intent.current.end(attempt, 'done', Date.now());
        return output;
      } catch (error) {
        const lost = error instanceof RequestError && error.status === 0;
        intent.current.end(attempt, lost ? 'lost' : 'refused', Date.now());
        throw error;
      }
    },
    onSuccess: async (output, input) => {
      if (present.current) then?.(output, input);
      await forget(client, ...changes);
    },
    // Someone else changed it, or a part was done before the refusal: the next try is made from the present state.
    onError: async (error) => {
      if (error.status !== 0) await forget(client, ...changes);
    },
  });
  return {
    run: (input) => {
      if (!intent.current.isSecondClick(input, Date.now())) mutation.mutate(input);
    },
    runAndWait: mutation.mutateAsync,
    running: mutation.isPending,
    error: mutation.error,
    output: mutation.data,
    clear: mutation.reset,
  };
}
