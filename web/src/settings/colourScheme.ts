import {
  type MantineColorScheme,
  type MantineColorSchemeManager,
  useComputedColorScheme,
} from '@mantine/core';

/** The same key as in public/colourScheme.js, which sets the scheme before the first paint. */
const key = 'gemel-colour-scheme';

function accepted(text: string | null): MantineColorScheme {
  return text === 'dark' || text === 'light' ? text : 'auto';
}

/** Keeps the chosen colour scheme in this browser and follows a change made in another window. */
export function colourSchemeManager(): MantineColorSchemeManager {
  let listener: ((event: StorageEvent) => void) | null = null;
  return {
    get(fallback) {
      try {
        return accepted(localStorage.getItem(key));
      } catch {
        return fallback;
      }
    },
    set(scheme) {
      try {
        localStorage.setItem(key, scheme);
      } catch {
        // Lasts until the page closes.
      }
    },
    subscribe(onUpdate) {
      listener = (event) => {
        if (event.key === key) onUpdate(accepted(event.newValue));
      };
      addEventListener('storage', listener);
    },
    unsubscribe() {
      if (listener !== null) removeEventListener('storage', listener);
    },
    clear() {
      localStorage.removeItem(key);
    },
  };
}

export function useIsDark(): boolean {
  return useComputedColorScheme('light') === 'dark';
}
