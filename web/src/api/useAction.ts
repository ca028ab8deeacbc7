import { useMutation, useQueryClient } from '@tanstack/react-query';
import type { RequestError } from './problems.ts';
import { forget } from './useRequest.ts';

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

/** One change on the server. `changes` names the paths whose answers it makes stale. */
export function useAction<Input, Output>(
  work: (input: Input) => Promise<Output>,
  changes: readonly string[],
  then?: (output: Output, input: Input) => void,
): Action<Input, Output> {
  const client = useQueryClient();
  const mutation = useMutation<Output, RequestError, Input>({
    mutationFn: work,
    onSuccess: async (output, input) => {
      await forget(client, ...changes);
      then?.(output, input);
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
