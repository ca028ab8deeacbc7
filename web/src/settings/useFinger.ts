import { useMediaQuery } from '@mantine/hooks';

/** Whether the reader points with a finger, so that what is pressed has to be larger. */
export function useFinger(): boolean {
  return useMediaQuery('(pointer: coarse)', undefined, { getInitialValueInEffect: false }) === true;
}
