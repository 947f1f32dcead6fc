/** Radians a second at which the sky turns: one turn in a mean sidereal day of 86164.0905 s (Explanatory Supplement, 3rd ed.). */
export const SIDEREAL_RATE = (2 * Math.PI) / 86164.0905;
