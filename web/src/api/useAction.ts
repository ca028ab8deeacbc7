import { useMutation, useQueryClient } from '@tanstack/react-query';
import { useEffect, useRef } from 'react';
import type { RequestError } from './problems.ts';
import { type Changed, forget } from './useRequest.ts';

/** Something a person does: run it, see whether it runs, and what came of it. */
export interface Action<Input, Output> {
  /** Starts it; failures are in `error`. */
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
 */
export function useAction<Input, Output>(
  work: (input: Input) => Promise<Output>,
  changes: readonly Changed[],
  then?: (output: Output, input: Input) => void,
): Action<Input, Output> {
  const client = useQueryClient();
  const present = useRef(true);
  useEffect(() => {
    present.current = true;
    return () => {
      present.current = false;
    };
  }, []);
  const mutation = useMutation<Output, RequestError, Input>({
    mutationFn: work,
    onSuccess: async (output, input) => {
      if (present.current) then?.(output, input);
      await forget(client, ...changes);
    },
  });
  return {
    run: mutation.mutate,
    runAndWait: mutation.mutateAsync,
    running: mutation.isPending,
    error: mutation.error,
    output: mutation.data,
    clear: mutation.reset,
  };
}
