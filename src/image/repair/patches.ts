/**
 * The patches of a mask: places that are not 0 and touch each other, sideways or by a corner.
 * @returns for each patch the indices of its dots, in the order in which a search from its first dot meets them.
 */
export function findPatches(mask: Uint8Array, width: number, height: number): Int32Array[] {
  const seen = new Uint8Array(mask.length);
  const patches: Int32Array[] = [];
  let marked = 0;
  for (let i = 0; i < mask.length; i++) if (mask[i] > 0) marked++;
  const queue = new Int32Array(marked);
  for (let start = 0; start < mask.length; start++) {
    if (mask[start] === 0 || seen[start] === 1) continue;
    let head = 0;
    let tail = 0;
    queue[tail++] = start;
    seen[start] = 1;
    while (head < tail) {
      const at = queue[head++];
      const x = at % width;
      const y = (at - x) / width;
      for (let v = Math.max(0, y - 1); v <= Math.min(height - 1, y + 1); v++) {
        for (let u = Math.max(0, x - 1); u <= Math.min(width - 1, x + 1); u++) {
          const next = v * width + u;
          if (mask[next] === 0 || seen[next] === 1) continue;
          seen[next] = 1;
          queue[tail++] = next;
        }
      }
    }
    patches.push(queue.slice(0, tail));
  }
  return patches;
}
