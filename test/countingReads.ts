/** The same array, counting how often its elements are read. */
export function countingReads<T extends object>(array: T): { readonly array: T; reads(): number } {
  let reads = 0;
  const counted = new Proxy(array, {
    get(target, key) {
      if (typeof key === 'string' && /^\d/.test(key)) reads++;
      const value: unknown = Reflect.get(target, key, target);
      // The methods of typed arrays want the array itself.
      return typeof value === 'function' ? (value.bind(target) as unknown) : value;
    },
    // And so do their setters.
    set: (target, key, value) => Reflect.set(target, key, value, target),
  });
  return { array: counted, reads: () => reads };
}
