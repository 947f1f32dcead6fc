/** Places taken so far; `claim` takes one unless one close by is taken already. */
export interface Places {
  claim(x: number, y: number): boolean;
}

/** Places taken so far, on a grid, so that two candidates that climb to one maximum give one star. */
export function makePlaces(near: number): Places {
  const cells = new Map<number, number[]>();
  return {
    claim(x, y) {
      const i = Math.floor(x / near);
      const j = Math.floor(y / near);
      for (let v = j - 1; v <= j + 1; v++) {
        for (let u = i - 1; u <= i + 1; u++) {
          const there = cells.get(v * 131072 + u);
          if (there === undefined) continue;
          for (let k = 0; k < there.length; k += 2) if (Math.hypot(there[k]! - x, there[k + 1]! - y) < near) return false;
        }
      }
      const key = j * 131072 + i;
      const cell = cells.get(key);
      if (cell === undefined) cells.set(key, [x, y]);
      else cell.push(x, y);
      return true;
    },
  };
}

