/** The stores of the browser's database: nights by their name, their newest pictures likewise, and what was set. */
export type StoreName = 'nights' | 'pictures' | 'settings';

const NAME = 'poleward';
const VERSION = 1;
const STORES: readonly StoreName[] = ['nights', 'pictures', 'settings'];

/** What the browser keeps for this page, on this device alone. */
export interface Database {
  get<T>(store: StoreName, key: string): Promise<T | null>;
  all<T>(store: StoreName): Promise<T[]>;
  put(store: StoreName, key: string, value: unknown): Promise<void>;
  remove(store: StoreName, key: string): Promise<void>;
  /** Changes a value in one step, so that no other tab comes between; null leaves it as it is. */
  change<T>(store: StoreName, key: string, next: (before: T | null) => T | null): Promise<T | null>;
  /** False where the browser keeps nothing: all is lost with this tab. */
  readonly lasting: boolean;
}

/** Opens the database; where the browser allows none (a private window, a full disk), memory takes its place. */
export async function openDatabase(): Promise<Database> {
  try {
    return overIndexedDb(await opened());
  } catch {
    return inMemory();
  }
}

function opened(): Promise<IDBDatabase> {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, VERSION);
    request.onupgradeneeded = () => {
      for (const store of STORES) request.result.createObjectStore(store);
    };
    request.onsuccess = () => resolve(request.result);
    request.onerror = request.onblocked = () => reject(request.error ?? new Error('the database is held by another tab'));
  });
}

function overIndexedDb(base: IDBDatabase): Database {
  // A newer page in another tab may have to change the stores.
  base.onversionchange = () => base.close();
  const done = <T>(
    store: StoreName, mode: IDBTransactionMode, work: (store: IDBObjectStore, give: (value: T) => void) => void,
  ): Promise<T> =>
    new Promise((resolve, reject) => {
      // It must be on the disk before it is reported kept.
      const transaction = base.transaction(store, mode, { durability: 'strict' });
      let result: T;
      transaction.oncomplete = () => resolve(result);
      transaction.onerror = transaction.onabort = () => reject(transaction.error ?? new Error('it was broken off'));
      work(transaction.objectStore(store), (value) => { result = value; });
    });
  const asked = <T>(request: IDBRequest<T>, then: (value: T) => void): void => {
    request.onsuccess = () => then(request.result);
  };
  return {
    lasting: true,
    get: (store, key) => done(store, 'readonly', (s, give) => asked(s.get(key), (value) => give(value ?? null))),
    all: (store) => done(store, 'readonly', (s, give) => asked(s.getAll(), give)),
    put: (store, key, value) => done(store, 'readwrite', (s, give) => asked(s.put(value, key), () => give(undefined))),
    remove: (store, key) => done(store, 'readwrite', (s, give) => asked(s.delete(key), () => give(undefined))),
    change: (store, key, next) => done(store, 'readwrite', (s, give) => asked(s.get(key), (before) => {
      const value = next(before ?? null);
      give(value);
      if (value !== null) s.put(value, key);
    })),
  };
}

/** Kept only as long as this tab. */
export function inMemory(): Database {
  const stores = new Map(STORES.map((name) => [name, new Map<string, unknown>()]));
  return {
    lasting: false,
    get: async <T>(store: StoreName, key: string) => (stores.get(store)!.get(key) as T | undefined) ?? null,
    all: async <T>(store: StoreName) => [...stores.get(store)!.values()] as T[],
    put: async (store, key, value) => { stores.get(store)!.set(key, value); },
    remove: async (store, key) => { stores.get(store)!.delete(key); },
    change: async <T>(store: StoreName, key: string, next: (before: T | null) => T | null) => {
      const value = next((stores.get(store)!.get(key) as T | undefined) ?? null);
      if (value !== null) stores.get(store)!.set(key, value);
      return value;
    },
  };
}
