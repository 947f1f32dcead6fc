import { DEGREE } from '../geometry/angle.js';
import { type Vector, angleBetween, fromSpherical } from '../geometry/vector.js';

/** A star that people know by name or Bayer letter. */
export interface NamedStar {
  /** "Polaris"; of a star without a name its letter, "σ Oct". */
  readonly name: string;
  /** "α UMi" */
  readonly letter: string;
  /** ICRS at J2000, length 1, rounded to 0.0001°. */
  readonly direction: Vector;
}

/** Within this angle it is the same star; the catalogue's bright stars have moved by a few arcseconds at most. */
const SAME = DEGREE / 60;

const GREEK = ['alpha', 'beta', 'gamma', 'delta', 'epsilon', 'zeta', 'eta', 'theta', 'iota', 'kappa', 'lambda', 'mu', 'nu', 'xi',
  'omicron', 'pi', 'rho', 'sigma', 'tau', 'upsilon', 'phi', 'chi', 'psi', 'omega'] as const;
const LETTERS = 'αβγδεζηθικλμνξοπρστυφχψω';

/** The named star that words mean: "polaris", "α UMi", "alpha umi"; null if none. */
export function namedStar(words: string): NamedStar | null {
  const wanted = plain(words);
  return wanted === '' ? null : ALL.find((star) => plain(star.name) === wanted || plain(star.letter) === wanted) ?? null;
}

/** The name of the star in an ICRS direction (length 1), null if it has none here. */
export function nameOf(direction: Vector): string | null {
  let best: NamedStar | null = null;
  let nearest: number = SAME;
  for (const star of ALL) {
    const away = angleBetween(star.direction, direction);
    if (away < nearest) [best, nearest] = [star, away];
  }
  return best && best.name;
}

/** Lower case, letters in Latin writing, one blank between words. */
function plain(words: string): string {
  const latin = [...words.normalize('NFC').toLowerCase()].map((c) => {
    const letter = LETTERS.indexOf(c === 'ς' ? 'σ' : c);
    return letter < 0 ? c : `${GREEK[letter]!} `;
  }).join('');
  return latin.replace(/([a-z])(\d)/g, '$1 $2').replace(/[\s_]+/g, ' ').trim();
}

/**
 * Name, Bayer letter, right ascension and declination (J2000, degrees), brightest first. Made by testdata/names/make.py from npm
 * d3-celestial 0.7.35 (BSD-3-Clause), which takes them from the Hipparcos catalogue.
 */
const TABLE: readonly (readonly [string, string, number, number])[] = [
  ['Canopus', 'α Car', 95.988, -52.6957],
  ['Rigil Kentaurus', 'α1 Cen', 219.9021, -60.834],
  ['Capella', 'α Aur', 79.1723, 45.998],
  ['Achernar', 'α Eri', 24.4285, -57.2368],
  ['Hadar', 'β Cen', 210.9559, -60.373],
  ['Acrux', 'α1 Cru', 186.6496, -63.0991],
  ['Deneb', 'α Cyg', 310.358, 45.2803],
  ['Mimosa', 'β Cru', 191.9303, -59.6888],
  ['Toliman', 'α2 Cen', 219.8962, -60.8372],
  ['Gacrux', 'γ Cru', 187.7915, -57.1132],
  ['Miaplacidus', 'β Car', 138.2999, -69.7172],
  ['Alnair', 'α Gru', 332.0583, -46.961],
  ['', 'γ2 Vel', 122.3831, -47.3366],
  ['Alioth', 'ε UMa', 193.5073, 55.9598],
  ['Mirfak', 'α Per', 51.0807, 49.8612],
  ['Dubhe', 'α UMa', 165.932, 61.751],
  ['Alkaid', 'η UMa', 206.8852, 49.3133],
  ['Avior', 'ε Car', 125.6285, -59.5095],
  ['Atria', 'α TrA', 252.1662, -69.0277],
  ['Alsephina', 'δ Vel', 131.1759, -54.7088],
  ['Peacock', 'α Pav', 306.4119, -56.7351],
  ['Polaris', 'α UMi', 37.9545, 89.2641],
  ['Kochab', 'β UMi', 222.6764, 74.1555],
  ['Tiaki', 'β Gru', 340.6669, -46.8846],
  ['', 'γ Cas', 14.1772, 60.7167],
  ['', 'γ Cen', 190.3793, -48.9599],
  ['Aspidiske', 'ι Car', 139.2725, -59.2752],
  ['Mizar', 'ζ UMa', 200.9814, 54.9254],
  ['Eltanin', 'γ Dra', 269.1515, 51.4889],
  ['Schedar', 'α Cas', 10.1268, 56.5373],
  ['Caph', 'β Cas', 2.2945, 59.1498],
  ['', 'ε Cen', 204.9719, -53.4664],
  ['', 'α Lup', 220.4823, -47.3882],
  ['Merak', 'β UMa', 165.4603, 56.3824],
  ['Phecda', 'γ UMa', 178.4577, 53.6948],
  ['Alderamin', 'α Cep', 319.6449, 62.5856],
  ['Markeb', 'κ Vel', 140.5284, -55.0107],
  ['', 'ζ Cen', 208.8849, -47.2884],
  ['', 'δ Cen', 182.0896, -50.7224],
  ['Ruchbah', 'δ Cas', 21.454, 60.2353],
  ['', 'α Mus', 189.2959, -69.1356],
  ['', 'μ Vel', 161.6924, -49.4203],
  ['Athebyne', 'η Dra', 245.9979, 61.5142],
  ['', 'θ Car', 160.7392, -64.3945],
  ['Imai', 'δ Cru', 183.7863, -58.7489],
  ['Rastaban', 'β Dra', 262.6082, 52.3014],
  ['', 'β Hyi', 6.4378, -77.2542],
  ['', 'β TrA', 238.7857, -63.4307],
  ['', 'α Ara', 262.9604, -49.8761],
  ['', 'β Ara', 261.325, -55.5299],
  ['', 'α Hyi', 29.6925, -61.5699],
  ['Fawaris', 'δ Cyg', 296.2437, 45.1308],
  ['', 'α Tuc', 334.6254, -60.2596],
  ['', 'γ TrA', 229.7274, -68.6795],
  ['', 'γ Per', 46.1991, 53.5064],
  ['', 'υ Car', 146.7755, -65.072],
  ['', 'τ Pup', 102.484, -50.6146],
  ['Pherkad', 'γ UMi', 230.1821, 71.834],
  ['', 'δ Per', 55.7313, 47.7876],
  ['', 'β Mus', 191.57, -68.1081],
  ['', 'α Aps', 221.9655, -79.0448],
  ['', 'γ Aps', 248.3628, -78.8971],
  ['', 'γ Cha', 158.8671, -78.6078],
  ['', 'β Oct', 341.5146, -81.3816],
  ['', 'ε UMi', 251.4927, 82.0373],
  ['', 'β Cha', 184.5868, -79.3122],
  ['', 'δ Oct', 216.7301, -83.6679],
  ['Yildun', 'δ UMi', 263.0542, 86.5865],
  ['', 'δ2 Cha', 161.4458, -80.5402],
  ['', 'δ1 Aps', 245.0867, -78.6957],
  ['', 'ε Cha', 179.9066, -78.2218],
  ['', 'η Aps', 214.5579, -81.0078],
  ['', 'ε Aps', 215.5965, -80.1089],
  ['', 'ζ Cha', 143.4724, -80.9413],
  ['', 'ε Oct', 335.007, -80.4397],
  ['', 'γ1 Oct', 358.027, -82.0188],
  ['', 'δ2 Aps', 245.1119, -78.6675],
  ['', 'λ Oct', 327.7273, -82.7189],
  ['', 'μ Hyi', 37.9189, -79.1094],
  ['', 'γ3 Oct', 2.5091, -82.224],
  ['', 'χ Oct', 283.6964, -87.6058],
  ['', 'ξ Oct', 342.5951, -80.1238],
  ['', 'ι Cha', 141.0384, -80.7869],
  ['', 'ζ Oct', 134.1708, -85.6632],
  ['', 'θ Men', 104.1436, -79.4202],
  ['', 'ι Oct', 193.745, -85.1234],
  ['', 'ρ Cep', 337.4707, 78.8243],
  ['Polaris Australis', 'σ Oct', 317.1952, -88.9565],
  ['', 'δ1 Cha', 161.318, -80.4696],
  ['', 'η Cha', 130.3313, -78.9634],
  ['', 'κ Men', 87.5699, -79.3614],
  ['', 'τ Oct', 352.0158, -87.4822],
  ['', 'μ Cha', 150.1825, -82.2147],
  ['', 'ε Men', 111.4087, -79.0942],
  ['', 'κ Oct', 205.2312, -85.786],
  ['', 'ρ Oct', 235.8205, -84.4653],
  ['', 'υ Oct', 337.9063, -85.9673],
  ['', 'ω Oct', 227.7867, -84.7878],
  ['', 'η Oct', 164.8074, -84.5939],
  ['', 'λ UMi', 259.2353, 89.0377],
];

const ALL: readonly NamedStar[] = TABLE.map(([name, letter, ra, dec]) => ({
  name: name === '' ? letter : name, letter, direction: fromSpherical(ra * DEGREE, dec * DEGREE),
}));
