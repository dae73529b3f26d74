/** Does `count` things, `lanes` of them under way at once, and gives what came of them in their order. Ends with the first that fails. */
export async function inLanes<Value>(
  count: number,
  lanes: number,
  work: (i: number) => Promise<Value>,
): Promise<Value[]> {
  const values: Value[] = new Array(count);
  let next = 0;
  let failed = false;
  const lane = async (): Promise<void> => {
    while (next < count && !failed) {
      const i = next++;
      try {
        values[i] = await work(i);
      } catch (error) {
        failed = true;
        throw error;
      }
    }
  };
  await Promise.all(Array.from({ length: Math.min(lanes, count) }, lane));
  return values;
}
