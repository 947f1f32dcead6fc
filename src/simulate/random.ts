/** A stream of random numbers that is the same for the same seed, on any machine. */
export interface Random {
  /** 0 <= u < 1, 32 bits. */
  uniform(): number;
  /** Normal, mean 0, variance 1. */
  normal(): number;
  /** Fills the array with normal numbers. */
  normals(out: Float32Array): void;
  /** Poisson number of the given mean, 0 to about 1e9. Above 30 a rounded normal, skewed as Poisson is. */
  poisson(mean: number): number;
  /** An independent stream: the same for the same seed and name, whatever was drawn here before. */
  stream(name: string | number): Random;
}

/** @param seed any number or text */
export function makeRandom(seed: string | number): Random {
  const text = String(seed);
  const state = new Int32Array([hash(text, 1), hash(text, 2), hash(text, 3), 1]);
  for (let i = 0; i < 12; i++) next(state);
  const uniform = (): number => (next(state) >>> 0) / 4294967296;
  const normal = (): number => nextNormal(state);
  return {
    uniform,
    normal,
    normals(out) {
      for (let i = 0; i < out.length; i++) out[i] = nextNormal(state);
    },
    poisson(mean) {
      if (mean > 30) {
        const z = normal();
        return Math.max(0, Math.round(mean + Math.sqrt(mean) * z + (z * z - 1) / 6));
      }
      return smallPoisson(mean, uniform());
    },
    stream: (name) => makeRandom(`${text}/${name}`),
  };
}

/** The Poisson number whose cumulative probability u (0 to 1) first falls below; mean up to about 100. */
export function smallPoisson(mean: number, u: number): number {
  let k = 0;
  let probability = Math.exp(-mean);
  let sum = probability;
  // With 32-bit u the sum gets past it well before k = 1000; the bound is for rounding.
  while (u >= sum && k < 1000) {
    k++;
    probability *= mean / k;
    sum += probability;
  }
  return k;
}

/** sfc32 (Chris Doty-Humphrey's PractRand; public domain): three words and a counter. */
function next(state: Int32Array): number {
  const a = state[0]!;
  const b = state[1]!;
  const c = state[2]!;
  const counter = state[3]!;
  const result = (((a + b) | 0) + counter) | 0;
  state[3] = (counter + 1) | 0;
  state[0] = b ^ (b >>> 9);
  state[1] = (c + (c << 3)) | 0;
  state[2] = (((c << 21) | (c >>> 11)) + result) | 0;
  return result;
}

/**
 * Ziggurat with 128 layers (Marsaglia & Tsang 2000, J. Stat. Softw. 5(8)); layer and position from different bits of one
 * word, as Doornik 2005 asks ("An improved ziggurat method").
 */
const LAYERS = 128;
/** Where the tail begins, and the area of each layer: Marsaglia & Tsang's values for 128 layers. */
const TAIL = 3.442619855899;
const AREA = 9.91256303526217e-3;
const edges = new Float64Array(LAYERS + 1);
const heights = new Float64Array(LAYERS + 1);
{
  const density = (x: number): number => Math.exp(-0.5 * x * x);
  edges[0] = AREA / density(TAIL);
  edges[1] = TAIL;
  for (let i = 2; i < LAYERS; i++) {
    const x = edges[i - 1]!;
    edges[i] = Math.sqrt(-2 * Math.log(AREA / x + density(x)));
  }
  edges[LAYERS] = 0;
  for (let i = 0; i <= LAYERS; i++) heights[i] = density(edges[i]!);
}

function nextNormal(state: Int32Array): number {
  for (;;) {
    const word = next(state);
    const layer = word & 127;
    // The upper 25 bits, signed: -1 to 1, never exactly ±1 or 0.
    const u = ((word >> 7) + 0.5) / 16777216;
    const x = u * edges[layer]!;
    if (Math.abs(x) < edges[layer + 1]!) return x;
    if (layer === 0) return u < 0 ? -tail(state) : tail(state);
    const v = (next(state) >>> 0) / 4294967296;
    if (heights[layer]! + v * (heights[layer + 1]! - heights[layer]!) < Math.exp(-0.5 * x * x)) return x;
  }
}

/** Beyond TAIL (Marsaglia 1964). */
function tail(state: Int32Array): number {
  for (;;) {
    const x = -Math.log(((next(state) >>> 0) + 1) / 4294967297) / TAIL;
    const y = -Math.log(((next(state) >>> 0) + 1) / 4294967297);
    if (2 * y > x * x) return TAIL + x;
  }
}

/** 32 bits from a text (FNV-1a, finished with MurmurHash3's mixer; both public domain). */
function hash(text: string, salt: number): number {
  let h = 0x811c9dc5 ^ Math.imul(salt, 0x9e3779b1);
  for (let i = 0; i < text.length; i++) h = Math.imul(h ^ text.charCodeAt(i), 0x01000193);
  h = Math.imul(h ^ (h >>> 16), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  return (h ^ (h >>> 16)) | 0;
}
