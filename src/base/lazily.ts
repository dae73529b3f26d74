/** Makes something when it is first wanted and keeps it. What fails is not kept: the next one who wants it tries again. */
export function lazily<Value>(make: () => Promise<Value>): () => Promise<Value> {
  let made: Promise<Value> | null = null;
  return () => {
    made ??= make().catch((error: unknown) => {
      made = null;
      throw error;
    });
    return made;
  };
}
