import { useSyncExternalStore } from 'react';

const listeners = new Map<string, Set<() => void>>();
const cache = new Map<string, { readonly text: string | null; readonly value: unknown }>();

/** A setting of this browser, kept in its storage. Where storage is forbidden the setting lasts until the page closes. */
export interface StoredSetting<T> {
  read(): T;
  write(value: T): void;
  subscribe(listener: () => void): () => void;
}

/** Makes a setting; `accept` turns what was stored (maybe by an older version) into a value, or the default. */
export function storedSetting<T>(key: string, accept: (stored: unknown) => T): StoredSetting<T> {
  const memory: { text: string | null } = { text: null };
  const load = (): string | null => {
    try {
      return localStorage.getItem(key);
    } catch {
      return memory.text;
    }
  };
  const tell = (): void => {
    for (const listener of listeners.get(key) ?? []) listener();
  };
  return {
    read() {
      const text = load();
      const known = cache.get(key);
      if (known !== undefined && known.text === text) return known.value as T;
      const value = accept(parsed(text));
      cache.set(key, { text, value });
      return value;
    },
    write(value) {
      const text = JSON.stringify(value);
      memory.text = text;
      try {
        localStorage.setItem(key, text);
      } catch {
        // Kept in memory above.
      }
      tell();
    },
    subscribe(listener) {
      const set = listeners.get(key) ?? new Set();
      listeners.set(key, set.add(listener));
      return () => void set.delete(listener);
    },
  };
}

function parsed(text: string | null): unknown {
  if (text === null) return undefined;
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}

/** Reads a setting in a component and follows its changes. */
export function useStored<T>(setting: StoredSetting<T>): [T, (value: T) => void] {
  const value = useSyncExternalStore(setting.subscribe, setting.read);
  return [value, setting.write];
}
