/** Keeps the results of a stage by what went into it; the least recently used ones go first. */
export function createMemo<Value>(capacity: number): (key: string, make: () => Value) => Value {
  const kept = new Map<string, Value>();
  return (key, make) => {
    const found = kept.get(key);
    const value = found !== undefined || kept.has(key) ? (found as Value) : make();
    kept.delete(key);
    kept.set(key, value);
    if (kept.size > capacity) kept.delete(kept.keys().next().value as string);
    return value;
  };
}
