import { useEffect, useState } from 'react';

/** The value, once it has stayed the same for `ms`: for requests that follow what somebody types. */
export function useDelayed<T>(value: T, ms: number): T {
  const [delayed, setDelayed] = useState(value);
  useEffect(() => {
    const timer = setTimeout(() => setDelayed(value), ms);
    return () => clearTimeout(timer);
  }, [value, ms]);
  return delayed;
}
